using Acquire.Acquisition;
using Xunit;

namespace Acquire.Conditioning.Tests;

public sealed class HindsightTests
{
    private static TrackerSettings Settings(ExactSpin spin) => new() { TickHz = spin.TickHz, MarksPerTurn = spin.MarkOffsets.Length };

    private static (List<(Pulse Pulse, bool IsMark)> Sent, JudgedRun Run) Judge(
        ExactSpin spin, IEnumerable<(Pulse Pulse, bool IsMark)> pulses, int marksSet = 0)
    {
        List<(Pulse Pulse, bool IsMark)> sent = [.. pulses.OrderBy(p => p.Pulse.Ticks)];
        TrackerSettings settings = Settings(spin);
        return (sent, RunJudge.Judge(
            [.. sent.Select(p => p.Pulse)], marksSet == 0 ? settings : settings with { MarksPerTurn = marksSet }));
    }

    private static int Wrong(List<(Pulse Pulse, bool IsMark)> sent, JudgedRun run) =>
        run.Pulses.Zip(sent).Count(p => (p.First.Kind == PulseKind.Mark) != p.Second.IsMark);

    [Theory]
    [InlineData(1)]
    [InlineData(3)]
    public void A_glint_just_before_a_mark_gives_way_to_it(int marks)
    {
        var random = new Random(5);
        var spin = new ExactSpin { MarkOffsets = [.. Enumerable.Range(0, marks).Select(i => (i + (0.04 * (i % 2))) / marks)] };
        var pulses = spin.Marks().SelectMany(m =>
        {
            var mark = (spin.PulseAt(m.TimeS + (1e-5 * ExactSpin.Normal(random))), true);
            double ahead = 0.02 / marks / spin.SpeedAt(m.TimeS);
            return m.Turns > 20 && random.NextDouble() < 0.03 ? [(spin.PulseAt(m.TimeS - ahead), false), mark] : new[] { mark };
        });
        (var sent, JudgedRun run) = Judge(spin, pulses);
        Assert.Contains(sent, p => !p.IsMark);
        Assert.Equal(0, Wrong(sent, run));
    }

    [Fact]
    public void A_launch_in_which_marks_are_missed_and_others_seen_twice_is_read_backwards_from_the_spin()
    {
        var spin = new ExactSpin { LaunchS = 1.2, MarkOffsets = [0, 0.26, 0.49, 0.75] };
        var marks = spin.Marks().ToList();
        int[] missed = [6, 11, 12, 19];
        var pulses = marks.Where((_, i) => !missed.Contains(i)).Select(m => (spin.PulseAt(m.TimeS), true)).ToList();
        pulses.Add((spin.PulseAt((0.4 * marks[8].TimeS) + (0.6 * marks[9].TimeS)), false));
        pulses.Add((spin.PulseAt((0.7 * marks[15].TimeS) + (0.3 * marks[16].TimeS)), false));
        (var sent, JudgedRun run) = Judge(spin, pulses);
        Assert.Equal(0, Wrong(sent, run));
        Assert.Equal(missed.Length, run.Missed);
        Assert.Equal(marks[^1].Turns, run.Pulses[^1].Turns, 2);
    }

    [Theory]
    [InlineData(0.45)]
    [InlineData(0.62)]
    public void A_bright_place_that_flashes_in_most_turns_is_no_second_mark(double place)
    {
        var random = new Random(11);
        var spin = new ExactSpin { FirstMarkTurns = 0.1 };
        var marks = spin.Marks().ToList();
        var pulses = marks.Select(m => (spin.PulseAt(m.TimeS, 0.02 / Math.Max(1, spin.SpeedAt(m.TimeS))), true)).ToList();
        foreach (var m in marks.SkipLast(1))
        {
            double time = spin.TimeAtTurns(m.Turns + 0.1 + place);
            if (random.NextDouble() < 0.8)
                pulses.Add((spin.PulseAt(time, 0.004 / spin.SpeedAt(time)), false));
        }

        (var sent, JudgedRun run) = Judge(spin, pulses);
        Assert.InRange(Wrong(sent, run), 0, sent.Count / 1000);
        Assert.Equal(marks[^1].Turns, run.Pulses.Last(p => p.Kind == PulseKind.Mark).Turns, 2);
    }

    [Theory]
    [InlineData(2, 1)]
    [InlineData(1, 2)]
    [InlineData(3, 2)]
    [InlineData(2, 3)]
    [InlineData(4, 4)]
    public void The_number_of_marks_on_the_body_is_told_whatever_is_set(int onBody, int set)
    {
        var random = new Random(2);
        double[] off = [0, 0.04, -0.03, 0.02];
        var spin = new ExactSpin { MarkOffsets = [.. Enumerable.Range(0, onBody).Select(i => (i + off[i]) / onBody)] };
        var pulses = spin.Marks().Select(m => (spin.PulseAt(m.TimeS + (5e-6 * ExactSpin.Normal(random))), true));
        Assert.Equal(onBody, Judge(spin, pulses, set).Run.MarksSeen);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(4)]
    public void As_many_marks_as_are_set_are_never_called_another_number(int marks)
    {
        // Of the four, two pairs look nearly alike: nearly a period of two.
        double[] off = [0, 0.05, 0.002, 0.052];
        var random = new Random(3);
        var spin = new ExactSpin { MarkOffsets = [.. Enumerable.Range(0, marks).Select(i => (i + off[i]) / marks)] };
        var pulses = spin.Marks().Select(m => (spin.PulseAt(m.TimeS + (2e-5 * ExactSpin.Normal(random))), true));
        Assert.Equal(marks, Judge(spin, pulses).Run.MarksSeen);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(4)]
    [InlineData(8)]
    public void A_wobble_that_grows_to_a_tenth_of_a_turn_spoils_neither_marks_nor_count(int marks)
    {
        // A slow precession at 11.7 wobbles a second times turns a second, growing as the fourth power of the inverse speed.
        var random = new Random(8);
        var spin = new ExactSpin { TauS = 40, LastTurnsPerS = 4, MarkOffsets = [.. Enumerable.Range(0, marks).Select(i => (i + (0.03 * (i % 2))) / marks)] };
        var pulses = spin.Marks().Select(m => (spin.PulseAt(Wobbled(spin, m.TimeS) + (1e-5 * ExactSpin.Normal(random))), true)).ToList();
        var seen = pulses.Where((_, i) => i % 31 != 30).ToList();
        (var sent, JudgedRun run) = Judge(spin, seen);
        Assert.InRange(Wrong(sent, run), 0, sent.Count / 1000);
        Assert.Equal(spin.Marks().Last().Turns, run.Pulses.Last(p => p.Kind == PulseKind.Mark).Turns, 1);
    }

    private static double Wobbled(ExactSpin spin, double timeS)
    {
        double speed = spin.SpeedAt(timeS);
        double free = Math.Max(0, timeS - spin.ReleaseS);
        double phase = 2 * Math.PI * 11.7 * spin.TauS / spin.PeakTurnsPerS * (Math.Exp(free / spin.TauS) - 1);
        double turns = 0.1 * Math.Pow(spin.LastTurnsPerS / speed, 4) * (1 - Math.Exp(-free));
        return timeS < spin.ReleaseS ? timeS : timeS + (turns * Math.Sin(phase) / speed);
    }

    [Fact]
    public void Marks_of_a_body_that_turns_smoothly_keep_their_count_where_the_tracker_went_astray()
    {
        // A flash in place of a missed mark and the next mark missed too, again and again: numbers must not slip by one.
        var spin = new ExactSpin { MarkOffsets = [0, 0.163, 0.328, 0.499, 0.666, 0.826] };
        var marks = spin.Marks().ToList();
        var pulses = new List<(Pulse, bool)>();
        for (int i = 0; i < marks.Count; i++)
        {
            bool astray = i > 300 && i % 500 < 2;
            if (!astray)
                pulses.Add((spin.PulseAt(marks[i].TimeS), true));
            else if (i % 500 == 0)
                pulses.Add((spin.PulseAt(marks[i].TimeS + (0.22 / 6 / spin.SpeedAt(marks[i].TimeS))), false));
        }

        (var sent, JudgedRun run) = Judge(spin, pulses);
        Assert.InRange(Wrong(sent, run), 0, sent.Count / 1000);
        Assert.Equal(marks[^1].Turns, run.Pulses[^1].Turns, 2);
    }

    [Fact]
    public void Few_pulses_between_two_gaps_do_not_part_the_run()
    {
        var random = new Random(4);
        var spin = new ExactSpin { TauS = 60, MarkOffsets = [0, 0.21, 0.4, 0.6, 0.81] };
        var marks = spin.Marks().ToList();
        var seen = marks.Where(m => m.TimeS is < 30 or > 40 || (m.TimeS > 34.9 && m.TimeS < 35.05)).ToList();
        (var sent, JudgedRun run) = Judge(spin, seen.Select(m => (spin.PulseAt(m.TimeS + (2e-5 * ExactSpin.Normal(random))), true)));
        Assert.InRange(Wrong(sent, run), 0, 12);
        Assert.Equal(marks[^1].Turns, run.Pulses[^1].Turns, 1.96 * Math.Sqrt(run.Bridges.Sum(b => b.UTurns * b.UTurns)) + 0.5);
    }

    [Fact]
    public void Which_mark_comes_first_after_a_loss_is_told_by_their_spacing()
    {
        var spin = new ExactSpin { TauS = 300, MarkOffsets = [0, 0.21, 0.39, 0.61, 0.8] };
        var marks = spin.Marks().ToList();
        var seen = marks.Where(m => m.TimeS is < 40 or > 52).ToList();
        (_, JudgedRun run) = Judge(spin, seen.Select(m => (spin.PulseAt(m.TimeS), true)));
        Assert.Equal(seen.Select(m => (short)m.Mark), run.Pulses.Select(p => p.Mark));
        Assert.Single(run.Bridges);
    }

    [Fact]
    public void Following_marks_takes_no_memory()
    {
        var spin = new ExactSpin();
        Pulse[] pulses = [.. spin.Marks().Select(m => spin.PulseAt(m.TimeS))];
        var tracker = new MarkTracker(Settings(spin));
        var judged = new List<JudgedPulse>(pulses.Length);
        int half = pulses.Length / 2;
        for (int i = 0; i < half; i++)
            tracker.Add(pulses[i], judged);
        long before = GC.GetAllocatedBytesForCurrentThread();
        for (int i = half; i < pulses.Length; i++)
            tracker.Add(pulses[i], judged);
        Assert.Equal(before, GC.GetAllocatedBytesForCurrentThread());
        Assert.True(tracker.IsLocked);
    }
}
