using Acquire.Acquisition;
using Acquire.Conditioning;
using Acquire.Conditioning.Tests;
using Xunit;

namespace Acquire.Motion.Tests;

public sealed class DetectorTests
{
    private const double TickHz = 2e6;
    private const double Unseen = 310; // nothing shows that the sensor still sees: the longest wait after a stop, and a little

    private static List<RunTransition> Detect(IEnumerable<double> times, double untilS, double lostWaitS = 900)
    {
        var tracker = new MarkTracker(new TrackerSettings { TickHz = TickHz });
        var detector = new RunDetector(new RunRules { TickHz = TickHz, LostWaitS = lostWaitS });
        var found = new List<RunTransition>();
        var judged = new List<JudgedPulse>();
        double now = 0;
        foreach (double time in times.Append(untilS))
        {
            for (; now < time; now += 0.1)
                detector.PassTime((long)(now * TickHz), true, found);
            if (time == untilS)
                break;
            judged.Clear();
            detector.Hear((long)Math.Round(time * TickHz));
            tracker.Add(new Pulse((long)Math.Round(time * TickHz), 0, -1), judged);
            foreach (JudgedPulse p in judged)
                detector.See(p, tracker, found);
        }

        return found;
    }

    private static List<double> Times(ExactSpin spin) => [.. spin.Marks().Select(m => m.TimeS)];

    [Fact]
    public void A_spin_begins_is_released_and_stops_once()
    {
        var spin = new ExactSpin();
        var times = Times(spin);
        var found = Detect(times, spin.StopS + Unseen);
        Assert.Equal(
            [RunTransitionKind.Began, RunTransitionKind.Released, RunTransitionKind.Lost, RunTransitionKind.Ended], found.Select(f => f.Kind));
        Assert.Equal(0, found[^1].FirstPulse);
        Assert.Equal(times.Count - 1, found[^1].LastPulse);
        Assert.Equal(RunEnd.Stopped, found[^1].End);
        Assert.Equal(spin.ReleaseS, found[1].Ticks / TickHz, 0.1);
    }

    [Fact]
    public void A_launch_within_the_wait_after_a_stop_is_another_run()
    {
        var first = new ExactSpin { TauS = 20 };
        var second = new ExactSpin { RestS = first.StopS + 12, TauS = 20 };
        var times = Times(first);
        int count = times.Count;
        times.AddRange(Times(second));
        var ends = Detect(times, second.StopS + Unseen).Where(f => f.Kind == RunTransitionKind.Ended).ToList();
        Assert.Equal(2, ends.Count);
        Assert.Equal((0, count - 1), (ends[0].FirstPulse, ends[0].LastPulse));
        Assert.Equal((count, times.Count - 1), (ends[1].FirstPulse, ends[1].LastPulse));
        Assert.All(ends, e => Assert.Equal(RunEnd.Stopped, e.End));
    }

    [Fact]
    public void Marks_that_cease_at_speed_are_no_stop_and_the_run_goes_on_when_they_come_back()
    {
        var spin = new ExactSpin { TauS = 600 };
        var found = Detect(Times(spin).Where(t => t is < 100 or > 500), spin.StopS + Unseen);
        Assert.Equal(
            [
                RunTransitionKind.Began, RunTransitionKind.Released, RunTransitionKind.Lost, RunTransitionKind.Back, RunTransitionKind.Lost,
                RunTransitionKind.Ended,
            ],
            found.Select(f => f.Kind));
        Assert.Equal(RunEnd.Stopped, found[^1].End);
    }

    [Fact]
    public void Marks_that_cease_at_speed_and_stay_away_end_the_run_as_signal_lost()
    {
        var spin = new ExactSpin { TauS = 600 };
        var found = Detect(Times(spin).Where(t => t < 100), 1200);
        Assert.Equal(RunEnd.SignalLost, found[^1].End);
    }

    [Theory]
    [InlineData(100)]
    [InlineData(120)]
    public void Lamp_light_is_never_a_run(double hz)
    {
        var random = new Random(5);
        var times = Enumerable.Range(0, (int)(hz * 120)).Select(i => (i / hz) + (1e-4 * ExactSpin.Normal(random))).Order();
        Assert.Empty(Detect(times, 130));
    }

    [Fact]
    public void A_capture_that_comes_late_still_records_the_spin_from_its_first_pulse_on()
    {
        var spin = new ExactSpin();
        var times = Times(spin).Where(t => t > 30).ToList();
        RunTransition end = Detect(times, spin.StopS + Unseen)[^1];
        Assert.Equal(RunTransitionKind.Ended, end.Kind);
        Assert.Equal(0, end.FirstPulse);
    }

    [Fact]
    public void A_push_that_comes_to_nothing_is_dismissed()
    {
        var spin = new ExactSpin { PeakTurnsPerS = 6, LaunchS = 1, TauS = 0.6, LastTurnsPerS = 1 };
        var found = Detect(Times(spin), 60);
        Assert.DoesNotContain(found, f => f.Kind == RunTransitionKind.Ended);
    }

    [Fact]
    public void Pulses_at_random_are_never_a_run()
    {
        for (int seed = 0; seed < 20; seed++)
        {
            var random = new Random(seed);
            double t = 0;
            var times = new List<double>();
            while (t < 300)
                times.Add(t += -Math.Log(1 - random.NextDouble()) * 0.1);
            Assert.DoesNotContain(Detect(times, 310), f => f.Kind == RunTransitionKind.Ended);
        }
    }

    [Fact]
    public void A_port_that_goes_away_after_the_fall_takes_nothing_from_the_stop()
    {
        var spin = new ExactSpin();
        var tracker = new MarkTracker(new TrackerSettings { TickHz = TickHz });
        var detector = new RunDetector(new RunRules { TickHz = TickHz });
        var found = new List<RunTransition>();
        var judged = new List<JudgedPulse>();
        foreach (var mark in spin.Marks())
        {
            judged.Clear();
            tracker.Add(spin.PulseAt(mark.TimeS), judged);
            foreach (JudgedPulse p in judged)
                detector.See(p, tracker, found);
        }

        for (double after = 1; after < 50; after += 1)
            detector.PassTime((long)((spin.StopS + after) * TickHz), linkUp: after < 40, found);
        Assert.Equal(RunEnd.Stopped, found[^1].End);
    }

    [Fact]
    public void Pushes_that_follow_each_other_are_one_launch()
    {
        var first = new ExactSpin { PeakTurnsPerS = 10, TauS = 40 };
        double againS = first.ReleaseS + 1.5;
        var second = new ExactSpin { RestS = againS, TauS = 60 };
        var times = Times(first).Where(t => t < againS).ToList();
        times.AddRange(Times(second).Where(t => second.SpeedAt(t) > 9 || t > second.ReleaseS));
        var ends = Detect(times, second.StopS + Unseen).Where(f => f.Kind == RunTransitionKind.Ended).ToList();
        Assert.Equal((0L, times.Count - 1L, RunEnd.Stopped), (ends.Single().FirstPulse, ends.Single().LastPulse, ends.Single().End));
    }

    [Fact]
    public void A_second_launch_while_the_signal_is_lost_is_another_run()
    {
        var first = new ExactSpin { TauS = 400 };
        var second = new ExactSpin { RestS = 200, PeakTurnsPerS = 45, TauS = 30 };
        var times = Times(first).Where(t => t < 100).ToList();
        int count = times.Count;
        times.AddRange(Times(second).Where(t => t > 210));
        var ends = Detect(times, second.StopS + Unseen).Where(f => f.Kind == RunTransitionKind.Ended).ToList();
        Assert.Equal([RunEnd.SignalLost, RunEnd.Stopped], ends.Select(e => e.End));
        Assert.Equal((count - 1, count), (ends[0].LastPulse, ends[1].FirstPulse));
    }

    [Fact]
    public void A_sensor_taken_away_for_a_minute_shortly_before_the_fall_ends_nothing()
    {
        var spin = new ExactSpin { TauS = 100 };
        var times = Times(spin).Where(t => t < spin.StopS - 80 || t > spin.StopS - 15);
        Assert.Equal(
            (RunTransitionKind.Ended, RunEnd.Stopped),
            Detect(times, spin.StopS + Unseen).Where(f => f.Kind == RunTransitionKind.Ended).Select(f => (f.Kind, f.End)).Single());
    }

    [Fact]
    public void Flashes_after_the_fall_show_that_the_sensor_sees_and_end_the_run_soon()
    {
        var spin = new ExactSpin();
        double[] flashes = [0.5, 1.17, 1.5, 2.17, 3.5, 4.83];
        var found = Detect(Times(spin).Concat(flashes.Select(f => spin.StopS + f)), spin.StopS + 45);
        Assert.Equal(RunEnd.Stopped, found.Single(f => f.Kind == RunTransitionKind.Ended).End);
    }

    [Fact]
    public void Lamp_light_with_flashes_unseen_is_never_a_run()
    {
        for (int seed = 0; seed < 10; seed++)
        {
            var random = new Random(seed);
            var times = Enumerable.Range(0, 12000).Where(_ => random.NextDouble() < 0.6).Select(i => i / 100.0).ToList();
            Assert.Empty(Detect(times, 130));
        }
    }

    [Fact]
    public void The_end_lies_between_the_last_mark_and_the_next_also_where_the_body_rolls()
    {
        var spin = new ExactSpin();
        double[] time = [.. Times(spin), spin.StopS + 1.1, spin.StopS + 1.63];
        double[] turns = [.. Enumerable.Range(0, time.Length - 2), time.Length + 1.0, time.Length + 3.0];
        SpinEnd end = SpinEnd.Place(Judged(time, turns), 1e-6, 1, 5);
        Assert.True(end.IsSeen);
        Assert.True(end.IsWitnessed);
        double lastS = time[^3] - time[0];
        Assert.Equal(lastS, end.LastMarkS, 1e-5);
        Assert.InRange(end.StopS, lastS, lastS + (1 / spin.LastTurnsPerS));
        Assert.InRange(spin.StopS - time[0], end.StopS - (2 * end.UStopS), end.StopS + (2 * end.UStopS));
    }

    [Fact]
    public void An_end_that_nobody_saw_is_forecast_with_an_uncertainty_that_holds_it()
    {
        var spin = new ExactSpin { TauS = 60 };
        double[] time = [.. Times(spin).Where(t => spin.SpeedAt(t) > 8)];
        SpinEnd end = SpinEnd.Place(Judged(time, [.. Enumerable.Range(0, time.Length)]), 1e-6, 1, 5);
        Assert.False(end.IsSeen);
        Assert.InRange(spin.StopS - time[0], end.StopS - (2 * end.UStopS), end.StopS + (2 * end.UStopS));
    }

    [Fact]
    public void A_run_begins_up_to_two_seconds_before_its_lock_so_that_no_mark_of_the_launch_is_left_out()
    {
        var spin = new ExactSpin { RestS = 5 };
        var times = Times(spin);
        double[] before = [times[0] - 4.5, times[0] - 1.4, times[0] - 0.3];
        RunTransition end = Detect(before.Concat(times), spin.StopS + Unseen)[^1];
        Assert.Equal((RunTransitionKind.Ended, 1L), (end.Kind, end.FirstPulse));
    }

    [Fact]
    public void A_few_marks_seen_again_before_the_fall_belong_to_the_run_though_nothing_locks_to_them()
    {
        var spin = new ExactSpin { TauS = 100 };
        var all = Times(spin);
        var times = all.Where(t => t < spin.StopS - 60).Concat(all.TakeLast(7)).ToList();
        RunTransition end = Detect(times, spin.StopS + Unseen).Single(f => f.Kind == RunTransitionKind.Ended);
        Assert.Equal((times.Count - 1L, RunEnd.Stopped), (end.LastPulse, end.End));
    }

    [Fact]
    public void A_spin_that_stays_near_the_beat_of_light_for_minutes_is_a_run_since_it_slows()
    {
        var spin = new ExactSpin { PeakTurnsPerS = 100.4, TauS = 40_000, LastTurnsPerS = 99.5 };
        RunTransition end = Detect(Times(spin), spin.StopS + 1000).Single(f => f.Kind is RunTransitionKind.Ended or RunTransitionKind.Dismissed);
        Assert.Equal(RunTransitionKind.Ended, end.Kind);
    }

    [Fact]
    public void A_wheel_that_ran_down_and_is_launched_again_gives_two_runs()
    {
        var first = new ExactSpin { TauS = 20, LastTurnsPerS = 0.3 };
        var second = new ExactSpin { RestS = first.StopS + 15, TauS = 20 };
        var ends = Detect(Times(first).Concat(Times(second)), second.StopS + Unseen).Where(f => f.Kind == RunTransitionKind.Ended).ToList();
        Assert.Equal([RunEnd.Stopped, RunEnd.Stopped], ends.Select(e => e.End));
    }

    [Fact]
    public void An_end_after_which_nothing_came_is_unwitnessed_and_has_a_latest_moment()
    {
        var spin = new ExactSpin { TauS = 60 };
        double[] time = [.. Times(spin).Where(t => t < spin.StopS - 10)];
        SpinEnd end = SpinEnd.Place(Judged(time, [.. Enumerable.Range(0, time.Length)]), 1e-6, 1, 5);
        Assert.False(end.IsWitnessed);
        Assert.InRange(spin.StopS - time[0], end.LastMarkS, end.LatestStopS);
        SpinEnd seen = SpinEnd.Place(Judged([.. time, time[^1] + 1.37], [.. Enumerable.Range(0, time.Length), -1.0]), 1e-6, 1, 5);
        Assert.True(seen.IsWitnessed);
    }

    // A turn below 0 is that of a pulse that is no mark.
    private static JudgedRun Judged(double[] time, double[] turns) => new(
        [.. time.Zip(turns, (t, turn) => new JudgedPulse(
            (long)Math.Round(t * 1e6), 0, turn < 0 ? PulseKind.Extra : PulseKind.Mark, (short)(turn < 0 ? -1 : 0), turn))],
        turns.Count(t => t >= 0), 0, [0.0], []);
}
