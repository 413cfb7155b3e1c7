using Acquire.Acquisition;
using Acquire.Conditioning;
using Acquire.Conditioning.Tests;
using Xunit;

namespace Acquire.Motion.Tests;

public sealed class SpinEndTests
{
    // Eight marks and 33 turns a second at the end: a fall may have begun at any of some 400 marks.
    private static readonly ExactSpin Fast = new() { PeakTurnsPerS = 180, TauS = 7, LastTurnsPerS = 33, MarkOffsets = [.. Enumerable.Range(0, 8).Select(i => i / 8.0)] };

    private static readonly ExactSpin Slow = new() { TauS = 60, LastTurnsPerS = 3.1 };

    [Fact]
    public void Marks_that_cease_faster_than_a_spin_may_end_leave_the_end_a_forecast()
    {
        SpinEnd end = Place(stopBelowTurnsPerS: 10, out double stopS);
        Assert.False(end.IsSeen);
        Assert.Equal(stopS, end.LastMarkS, 0.2);
        Assert.True(end.StopS > end.LastMarkS + 1);
    }

    [Fact]
    public void The_end_of_a_fast_body_with_many_marks_is_placed_within_a_turn()
    {
        SpinEnd end = Place(stopBelowTurnsPerS: 100, out double stopS);
        Assert.True(end.IsSeen);
        Assert.Equal(stopS, end.StopS, 1 / Fast.LastTurnsPerS);
    }

    /// <summary>The body falls half a turn after its last free mark; one more mark is seen, hardly late but longer by as much as the body is slower.</summary>
    [Fact]
    public void A_last_mark_too_long_for_its_speed_came_in_the_fall()
    {
        JudgedRun run = Fallen(out double fallS);
        SpinEnd end = SpinEnd.Place(run, 1 / Slow.TickHz, 1, 10);
        Assert.Equal(fallS, end.StopS, 0.6 / Slow.LastTurnsPerS);
        Assert.True(end.StopS < (run.Pulses[^1].Ticks - run.Pulses[0].Ticks) / Slow.TickHz);
    }

    [Fact]
    public void Flashes_taken_for_marks_long_after_a_fall_do_not_move_it()
    {
        JudgedRun run = Fallen(out double fallS, lastTurnsSeen: 24);
        JudgedPulse last = run.Pulses[^1];
        int[] later = [9, 16, 22]; // turns
        JudgedPulse[] flashes = [.. later.Select(n => last with { Ticks = last.Ticks + (long)(n / Slow.LastTurnsPerS * Slow.TickHz), Turns = last.Turns + n })];
        SpinEnd end = SpinEnd.Place(run with { Pulses = [.. run.Pulses, .. flashes], Marks = run.Marks + later.Length }, 1 / Slow.TickHz, 1, 10);
        Assert.Equal(fallS, end.StopS, 0.6 / Slow.LastTurnsPerS);
    }

    // Where so many of the last turns are seen, the sensor was away for sixty turns before them.
    private static JudgedRun Fallen(out double fallS, double lastTurnsSeen = double.PositiveInfinity)
    {
        const double WidthTurns = 0.024;
        const double HalfTurnAndLate = 0.507; // turns until then at the speed of the fall's beginning
        var random = new Random(622);
        double[] times = [.. Slow.Marks().Where(m => Slow.TurnsAtStop - m.Turns is var left && (left < lastTurnsSeen || left > lastTurnsSeen + 60)).Select(m => m.TimeS + (15e-6 * ExactSpin.Normal(random)))];
        double[] lengths = [.. times.Select(t => (WidthTurns / Slow.SpeedAt(t)) + (20e-6 * ExactSpin.Normal(random)))];
        double fallAtS = times[^1] + (0.5 / Slow.LastTurnsPerS);
        double lateS = times[^1] + ((0.5 + HalfTurnAndLate) / Slow.LastTurnsPerS);
        Pulse[] pulses = [.. times.Zip(lengths, (t, w) => Slow.PulseAt(t, w)), Slow.PulseAt(lateS, 1.08 * WidthTurns / Slow.LastTurnsPerS)];
        JudgedRun run = RunJudge.Judge(pulses, new TrackerSettings { TickHz = Slow.TickHz, MarksPerTurn = 1 });
        fallS = fallAtS - (run.Pulses[0].Ticks / Slow.TickHz);
        return run;
    }

    private static SpinEnd Place(double stopBelowTurnsPerS, out double stopS)
    {
        JudgedRun run = RunJudge.Judge([.. Fast.Marks().Select(m => Fast.PulseAt(m.TimeS))], new TrackerSettings { TickHz = Fast.TickHz, MarksPerTurn = Fast.MarkOffsets.Length });
        stopS = Fast.StopS - (run.Pulses[0].Ticks / Fast.TickHz);
        return SpinEnd.Place(run, 1 / Fast.TickHz, Fast.MarkOffsets.Length, stopBelowTurnsPerS);
    }
}
