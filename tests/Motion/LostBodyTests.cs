using Acquire.Acquisition;
using Acquire.Conditioning;
using Acquire.Conditioning.Tests;
using Xunit;

namespace Acquire.Motion.Tests;

/// <summary>What becomes of a run whose body was out of sight, or that begins or ends beside the light of a lamp.</summary>
public sealed class LostBodyTests
{
    private const double TickHz = 2e6;

    private static List<RunTransition> Detect(IEnumerable<double> times, double untilS, int marks = 1)
    {
        var tracker = new MarkTracker(new TrackerSettings { TickHz = TickHz, MarksPerTurn = marks });
        var detector = new RunDetector(new RunRules { TickHz = TickHz });
        List<RunTransition> found = [];
        List<JudgedPulse> judged = [];
        double now = 0;
        foreach (double time in times)
        {
            for (; now < time; now += 0.1)
                detector.PassTime((long)(now * TickHz), true, found);
            judged.Clear();
            detector.Hear((long)Math.Round(time * TickHz));
            tracker.Add(new Pulse((long)Math.Round(time * TickHz), 0, -1), judged);
            foreach (JudgedPulse p in judged)
                detector.See(p, tracker, found);
        }

        for (; now < untilS; now += 0.1)
            detector.PassTime((long)(now * TickHz), true, found);
        return found;
    }

    private static List<RunTransition> Ends(IEnumerable<RunTransition> found) => [.. found.Where(f => f.Kind == RunTransitionKind.Ended)];

    [Fact]
    public void A_launch_long_after_a_failed_one_is_a_run_of_its_own()
    {
        double[] places = [.. Enumerable.Range(0, 8).Select(i => (i + (0.05 * (i % 2))) / 8)];
        var failed = new ExactSpin { PeakTurnsPerS = 4, TauS = 1, LastTurnsPerS = 2, MarkOffsets = places };
        var spin = new ExactSpin { RestS = 30, LaunchS = 0.8, TauS = 40, MarkOffsets = places };
        double[] before = [.. failed.Marks().Select(m => m.TimeS)];
        double[] times = [.. before, .. spin.Marks().Select(m => m.TimeS)];
        RunTransition end = Assert.Single(Ends(Detect(times, spin.StopS + 310, 8)));
        Assert.Equal((before.Length, times.Length - 1L), (end.FirstPulse, end.LastPulse));
    }

    [Fact]
    public void Marks_seen_again_after_longer_than_a_stop_is_waited_for_still_belong_to_the_run()
    {
        var spin = new ExactSpin { TauS = 130 };
        double[] times = [.. spin.Marks().Select(m => m.TimeS).Where(t => t < 60 || t > spin.StopS - 8)];
        RunTransition end = Assert.Single(Ends(Detect(times, spin.StopS + 310)));
        Assert.Equal((0L, times.Length - 1L, RunEnd.Stopped), (end.FirstPulse, end.LastPulse, end.End));
    }

    [Fact]
    public void Marks_that_wobble_too_much_to_follow_after_a_loss_belong_to_the_run_to_the_last()
    {
        var spin = new ExactSpin { TauS = 90 };
        double[] marks = [.. spin.Marks().Select(m => m.TimeS)];
        double[] times = [.. marks.Where(t => t < spin.StopS - 70 || t > spin.StopS - 12).Select((t, i) => t > spin.StopS - 9 ? t + (0.045 * (i % 2)) : t)];
        RunTransition end = Assert.Single(Ends(Detect(times, spin.StopS + 310)));
        Assert.Equal((0L, times.Length - 1L), (end.FirstPulse, end.LastPulse));
    }

    [Fact]
    public void Another_body_of_whose_marks_every_third_comes_as_foretold_is_another_run()
    {
        double[] places = [0, 0.35, 0.65];
        var first = new ExactSpin { TauS = 60, MarkOffsets = places };
        var second = new ExactSpin { RestS = first.StopS + 20, LaunchS = 0.3, PeakTurnsPerS = 6.6, TauS = 60, LastTurnsPerS = 2.5, MarkOffsets = places };
        double[] before = [.. first.Marks().Select(m => m.TimeS)];
        double[] times = [.. before, .. second.Marks().Select(m => m.TimeS)];
        List<RunTransition> ends = Ends(Detect(times, second.StopS + 310, 3));
        Assert.Equal([(0L, before.Length - 1L), (before.Length, times.Length - 1L)], ends.Select(e => (e.FirstPulse, e.LastPulse)));
    }

    [Fact]
    public void A_launch_out_of_lamp_light_to_nearly_its_beat_begins_with_its_first_mark()
    {
        var spin = new ExactSpin { RestS = 20, LaunchS = 0.25, PeakTurnsPerS = 33, TauS = 300, LastTurnsPerS = 20, MarkOffsets = [0, 0.34, 0.66] };
        var random = new Random(2);
        double[] light = [.. Enumerable.Range(0, 2390).Where(_ => random.NextDouble() < 0.6).Select(i => i / 120.0)];
        double[] times = [.. light, .. spin.Marks().Select(m => m.TimeS)];
        RunTransition began = Detect(times, times[^1] + 0.5, 3).First(f => f.Kind == RunTransitionKind.Began);
        Assert.InRange(began.FirstPulse, light.Length - 2, light.Length + 1);
    }

    [Fact]
    public void What_comes_back_as_foretold_and_is_pushed_on_at_once_is_another_run()
    {
        var first = new ExactSpin { TauS = 40 };
        double[] before = [.. first.Marks().Select(m => m.TimeS).Where(t => t < 30)];
        double restS = 75;
        var held = new ExactSpin { RestS = restS, PeakTurnsPerS = 6, TauS = 60, LastTurnsPerS = 5.7 };
        var pushed = new ExactSpin { RestS = held.StopS - 0.2, LaunchS = 0.8, TauS = 40 };
        double[] launch = [.. held.Marks().Select(m => m.TimeS)];
        double[] times = [.. before, .. launch, .. pushed.Marks().Select(m => m.TimeS).Where(t => t > launch[^1] + 0.05)];
        List<RunTransition> ends = Ends(Detect(times, pushed.StopS + 310));
        Assert.Equal([(0L, before.Length - 1L), (before.Length, times.Length - 1L)], ends.Select(e => (e.FirstPulse, e.LastPulse)));
    }

    [Fact]
    public void Turns_across_a_gap_stay_between_the_straight_line_and_the_hyperbola()
    {
        var random = new Random(8);
        var spin = new ExactSpin { TauS = 40, LastTurnsPerS = 4 };
        List<JudgedPulse> pulses = [.. spin.Marks().Where(m => m.TimeS < 12 || m.TimeS > spin.StopS - 6).Select(m => new JudgedPulse(
            (long)((m.TimeS + (1e-2 / spin.SpeedAt(m.TimeS) * ExactSpin.Normal(random))) * 1e6), 0, PulseKind.Mark, 0, m.Turns))];
        int last = pulses.FindLastIndex(p => p.Ticks < 12e6);
        var bridge = new Bridge(pulses[last].Ticks, pulses[last + 1].Ticks, pulses[last + 1].Turns - pulses[last].Turns, 1);
        JudgedRun run = GapBridge.Settle(new JudgedRun(pulses, pulses.Count, 0, [0], [bridge]), 1e-6, 1);
        (double fromS, double toS) = (bridge.FromTicks / 1e6, bridge.ToTicks / 1e6);
        (double v1, double v2) = (spin.SpeedAt(fromS), spin.SpeedAt(toS));
        double fewest = (toS - fromS) * v1 * v2 / (v1 - v2) * Math.Log(v1 / v2);
        double most = (toS - fromS) * (v1 + v2) / 2;
        double slack = 0.05 * most;
        Assert.InRange(run.Bridges[0].Turns, fewest - slack, most + slack);
        Assert.InRange(run.Bridges[0].UTurns, 0, ((most - fewest) / Math.Sqrt(12)) + slack);
    }
}
