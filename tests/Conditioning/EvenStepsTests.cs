using Xunit;

namespace Acquire.Conditioning.Tests;

/// <summary>Marks that were counted at a multiple of their speed for a while. Invented data.</summary>
public sealed class EvenStepsTests
{
    private const double TurnsPerS = 20;

    [Theory]
    [InlineData(1, 2)]
    [InlineData(1, 3)]
    [InlineData(2, 2)]
    [InlineData(4, 3)]
    public void Marks_counted_at_a_multiple_of_their_speed_are_counted_anew(int marks, int multiple)
    {
        MarkTable table = Table(marks, 100, m => m is >= 30 and < 50 ? multiple : 1, everySoManyS: 1 / (TurnsPerS * marks));
        EvenSteps.Renumber(table);
        Assert.Equal(Enumerable.Range(0, 101).Select(n => (long)n), table.Marks.Select(m => m.Number));
    }

    [Fact]
    public void Of_two_marks_one_that_was_lost_for_good_leaves_the_count_as_it_was()
    {
        double time = 0;
        MarkTable table = Table(2, 100, m => m >= 30 ? 2 : 1, m => time += (m >= 30 ? 2 : 1) / (2 * TurnsPerS));
        long last = table.Marks[^1].Number;
        EvenSteps.Renumber(table);
        Assert.Equal(last, table.Marks[^1].Number);
    }

    [Fact]
    public void Marks_missed_here_and_there_leave_the_count_as_it_was()
    {
        double time = 0;
        MarkTable table = Table(1, 100, m => m % 5 == 0 ? 2 : 1, m => time += (m % 5 == 0 ? 2 : 1) / TurnsPerS);
        long last = table.Marks[^1].Number;
        EvenSteps.Renumber(table);
        Assert.Equal(last, table.Marks[^1].Number);
    }

    private static MarkTable Table(int marks, int steps, Func<int, long> step, double everySoManyS) => Table(marks, steps, step, m => (m + 1) * everySoManyS);

    private static MarkTable Table(int marks, int steps, Func<int, long> step, Func<int, double> timeS)
    {
        var judged = new List<JudgedPulse> { new(0, 0, PulseKind.Mark, 0, 0) };
        var table = new List<MarkAt> { new(0, 0) };
        for (int m = 0; m < steps; m++)
        {
            judged.Add(new JudgedPulse((long)(1e9 * timeS(m)), 0, PulseKind.Mark, 0, 0));
            table.Add(new MarkAt(m + 1, table[^1].Number + step(m)));
        }

        return new MarkTable(judged, 1e9, [.. Enumerable.Range(0, marks).Select(k => (double)k / marks)]) { LightFrom = judged.Count, Marks = table };
    }
}
