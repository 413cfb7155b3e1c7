using Xunit;

namespace Acquire.Conditioning.Tests;

public sealed class RowSearchTests
{
    private static double[] Wobbling(double fromS, int marks, double firstS) =>
        [.. Enumerable.Range(0, marks).Select(i => fromS + (firstS * i * (1 + (0.01 * i))) + (0.04 * firstS * (i % 2)))];

    [Fact]
    public void Marks_of_a_body_that_wobbles_and_slows_are_found_among_glints_with_their_numbers()
    {
        double[] marks = Wobbling(1, 24, 0.3);
        double[] timeS = [.. marks.Where((_, i) => i != 9).Concat([1.7, 3.02, 5.1, 7.77]).Order()];
        List<(int At, int Step)> row = RowSearch.Find(timeS, 10, 0.2, 0.5);
        Assert.Equal(marks.Where((_, i) => i != 9), row.Select(r => timeS[r.At]));
        Assert.Equal(Enumerable.Range(0, 24).Where(i => i != 9), row.Select(r => r.Step));
    }

    [Fact]
    public void Pulses_at_random_hold_no_row()
    {
        for (int seed = 0; seed < 20; seed++)
        {
            var random = new Random(seed);
            double[] timeS = [.. Enumerable.Range(0, 60).Select(_ => 30 * random.NextDouble()).Order()];
            Assert.Empty(RowSearch.Find(timeS, timeS.Length, 0.2, 0.5));
        }
    }

    [Theory]
    [InlineData(14)]
    [InlineData(30)]
    public void Few_marks_after_a_long_loss_that_wobble_too_much_to_follow_belong_to_the_run(int few)
    {
        var spin = new ExactSpin { TauS = 60, LastTurnsPerS = 8 };
        double[] before = [.. spin.Marks().Select(m => m.TimeS)];
        double[] after = Wobbling(before[^1] + 50, few, 0.35);
        JudgedRun run = RunJudge.Judge([.. before.Concat(after).Select(t => spin.PulseAt(t))], new TrackerSettings { TickHz = spin.TickHz });
        Assert.InRange(run.Marks, before.Length + few - 3, before.Length + few);
        Assert.Equal(PulseKind.Mark, run.Pulses[^2].Kind);
        Assert.Equal(few - 2, run.Pulses[^2].Turns - run.Pulses[before.Length].Turns, 1e-6);
    }
}
