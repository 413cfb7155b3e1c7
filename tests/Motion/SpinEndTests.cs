using Acquire.Conditioning;
using Acquire.Conditioning.Tests;
using Xunit;

namespace Acquire.Motion.Tests;

public sealed class SpinEndTests
{
    // Eight marks and 33 turns a second at the end: a fall may have begun at any of some 400 marks.
    private static readonly ExactSpin Fast = new() { PeakTurnsPerS = 180, TauS = 7, LastTurnsPerS = 33, MarkOffsets = [.. Enumerable.Range(0, 8).Select(i => i / 8.0)] };

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

    private static SpinEnd Place(double stopBelowTurnsPerS, out double stopS)
    {
        JudgedRun run = RunJudge.Judge([.. Fast.Marks().Select(m => Fast.PulseAt(m.TimeS))], new TrackerSettings { TickHz = Fast.TickHz, MarksPerTurn = Fast.MarkOffsets.Length });
        stopS = Fast.StopS - (run.Pulses[0].Ticks / Fast.TickHz);
        return SpinEnd.Place(run, 1 / Fast.TickHz, Fast.MarkOffsets.Length, stopBelowTurnsPerS);
    }
}
