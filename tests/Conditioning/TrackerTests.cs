using Acquire.Acquisition;
using Xunit;

namespace Acquire.Conditioning.Tests;

public sealed class TrackerTests
{
    private static TrackerSettings Settings(ExactSpin spin) => new() { TickHz = spin.TickHz, MarksPerTurn = spin.MarkOffsets.Length };

    private static JudgedRun Judge(ExactSpin spin, IEnumerable<Pulse> pulses) =>
        RunJudge.Judge([.. pulses.OrderBy(p => p.Ticks)], Settings(spin));

    [Fact]
    public void A_clean_spin_is_all_marks_and_every_turn_is_counted()
    {
        var spin = new ExactSpin();
        var truth = spin.Marks().ToList();
        JudgedRun run = Judge(spin, truth.Select(m => spin.PulseAt(m.TimeS)));
        Assert.Equal(truth.Count, run.Pulses.Count);
        Assert.All(run.Pulses, p => Assert.Equal(PulseKind.Mark, p.Kind));
        Assert.Equal(0, run.Missed);
        Assert.Equal(truth[^1].Turns, run.Pulses[^1].Turns, 9);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    [InlineData(5)]
    [InlineData(8)]
    public void Several_unevenly_spaced_marks_are_told_apart_and_their_places_learnt(int marks)
    {
        double[] offsets = [.. Enumerable.Range(0, marks).Select(i => (i + (i % 2 == 1 ? 0.05 : 0)) / marks)];
        var spin = new ExactSpin { MarkOffsets = offsets };
        var truth = spin.Marks().ToList();
        JudgedRun run = Judge(spin, truth.Select(m => spin.PulseAt(m.TimeS)));
        Assert.Equal(truth.Count, run.Marks);
        Assert.Equal(truth[^1].Turns, run.Pulses[^1].Turns, 2);
        for (int i = 0; i < marks; i++)
            Assert.Equal(offsets[i], run.MarkOffsets[i], 3);
        for (int i = 0; i < truth.Count; i++)
            Assert.Equal(truth[i].Mark, run.Pulses[i].Mark);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(4)]
    public void Missed_marks_and_glints_leave_the_turn_count_exact(int marks)
    {
        for (int seed = 0; seed < 100; seed++)
        {
            var random = new Random(1000 + seed);
            var spin = new ExactSpin { MarkOffsets = [.. Enumerable.Range(0, marks).Select(i => (double)i / marks)] };
            var truth = spin.Marks().ToList();
            var pulses = new List<(Pulse Pulse, bool IsMark)>();
            double lastTurns = 0;
            foreach (var m in truth)
            {
                if (m.Turns < 10 || random.NextDouble() >= 0.03)
                {
                    pulses.Add((spin.PulseAt(m.TimeS + (2e-5 * ExactSpin.Normal(random))), true));
                    lastTurns = m.Turns;
                }

                if (m.Turns > 10 && random.NextDouble() < 0.03)
                    pulses.Add((spin.PulseAt(m.TimeS + ((0.3 + (0.4 * random.NextDouble())) / marks / spin.SpeedAt(m.TimeS))), false));
            }

            pulses.Sort((a, b) => a.Pulse.Ticks.CompareTo(b.Pulse.Ticks));
            JudgedRun run = Judge(spin, pulses.Select(p => p.Pulse));
            int wrong = run.Pulses.Zip(pulses).Count(p => (p.First.Kind == PulseKind.Mark) != p.Second.IsMark);
            Assert.True(wrong <= pulses.Count * 0.001, $"seed {seed}: {wrong} of {pulses.Count} pulses judged wrongly");
            JudgedPulse last = run.Pulses.Last(p => p.Kind == PulseKind.Mark);
            Assert.Equal(lastTurns, last.Turns, 2);
        }
    }

    [Fact]
    public void Bounce_after_each_mark_is_no_mark()
    {
        var spin = new ExactSpin();
        var truth = spin.Marks().ToList();
        var pulses = truth.SelectMany(m => new[] { spin.PulseAt(m.TimeS), spin.PulseAt(m.TimeS + 3e-4), spin.PulseAt(m.TimeS + 5e-4) });
        JudgedRun run = Judge(spin, pulses);
        Assert.Equal(truth.Count, run.Marks);
        Assert.Equal(truth[^1].Turns, run.Pulses.Last(p => p.Kind == PulseKind.Mark).Turns, 9);
    }

    [Theory]
    [InlineData(5, 0)]
    [InlineData(20, 0)]
    [InlineData(60, 8)]
    [InlineData(150, 40)]
    public void A_lost_signal_is_bridged_and_the_turn_count_across_it_is_right_within_what_is_stated(double awayS, double mayDiffer)
    {
        var spin = new ExactSpin { TauS = 600 };
        var truth = spin.Marks().ToList();
        JudgedRun run = Judge(
            spin, truth.Where(m => m.TimeS < 40 || m.TimeS > 40 + awayS).Select(m => spin.PulseAt(m.TimeS)));
        Bridge bridge = Assert.Single(run.Bridges);
        double difference = run.Pulses[^1].Turns - truth[^1].Turns;
        Assert.True(Math.Abs(difference) <= mayDiffer, $"{difference} turns off");
        Assert.True(Math.Abs(difference) <= (3 * bridge.UTurns) + 0.01, $"{difference} turns off, u {bridge.UTurns}");
    }

    [Fact]
    public void Flashes_of_a_body_that_rolls_after_its_fall_are_no_marks()
    {
        var spin = new ExactSpin { LastTurnsPerS = 4 };
        var random = new Random(7);
        var truth = spin.Marks().ToList();
        var pulses = truth.Select(m => spin.PulseAt(m.TimeS)).ToList();
        double t = spin.StopS + 0.6;
        for (int i = 0; i < 40; i++)
        {
            pulses.Add(spin.PulseAt(t));
            t += 0.1 + (0.9 * random.NextDouble());
        }

        JudgedRun run = Judge(spin, pulses);
        Assert.Equal(truth.Count, run.Marks);
    }

    [Fact]
    public void A_glint_after_the_last_mark_comes_out_once()
    {
        var spin = new ExactSpin();
        var pulses = spin.Marks().Select(m => spin.PulseAt(m.TimeS)).ToList();
        pulses.Add(spin.PulseAt(spin.StopS + 0.15));
        Assert.Equal(pulses.Select(p => p.Ticks), Judge(spin, pulses).Pulses.Select(p => p.Ticks));
    }

    [Fact]
    public void Every_pulse_comes_out_once_and_in_order()
    {
        var random = new Random(3);
        var tracker = new MarkTracker(Settings(new ExactSpin()));
        var judged = new List<JudgedPulse>();
        long ticks = 0;
        var sent = new List<long>();
        for (int i = 0; i < 20_000; i++)
        {
            ticks += random.Next(1, random.Next(2, 200_000));
            sent.Add(ticks);
            tracker.Add(new Pulse(ticks, 0, -1), judged);
        }

        tracker.Finish(judged);
        Assert.Equal(sent, judged.Select(p => p.Ticks));
    }
}
