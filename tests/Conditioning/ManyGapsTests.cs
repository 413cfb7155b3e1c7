using Acquire.Acquisition;
using Xunit;

namespace Acquire.Conditioning.Tests;

public sealed class ManyGapsTests
{
    private const double Hz = 2e6;
    private const int MarksPerTurn = 2;
    private const double GapEveryS = 1;
    private const double GapS = 0.6;

    /// <summary>A board that began anew in a gap counts from nothing; its ticks are joined by the host's clock, which is a third of a mark off here, so that
    /// the body seems to have been quicker over that gap than it ever was.</summary>
    [Theory]
    [InlineData(0)]
    [InlineData(-0.006)]
    [InlineData(0.006)]
    public void However_often_the_port_was_away_no_mark_before_is_given_up(double shiftS)
    {
        List<(double TimeS, long Mark)> marks = [.. Marks().Where(m => !IsInGap(m.TimeS))];
        Pulse[] pulses = [.. marks.Select(m => new Pulse((long)Math.Round((m.TimeS + (m.TimeS > 10 ? shiftS : 0)) * Hz), 200, -1))];

        JudgedRun run = RunJudge.Judge(
            pulses, new TrackerSettings { TickHz = Hz, MarksPerTurn = MarksPerTurn, FastestTurnsPerS = 100, RememberS = 90 });

        // The first of the launch, while nothing tells its speed yet, may be left out.
        Assert.InRange(pulses.Length - run.Marks, 0, 4);
        Assert.Equal(marks[^1].Mark - marks[0].Mark + 1, pulses.Length + run.Missed);
    }

    private static bool IsInGap(double timeS) => timeS > 2.5 && timeS % GapEveryS > GapEveryS - GapS;

    // A launch of half a second to 27 turns a second, then a slow decay.
    private static IEnumerable<(double TimeS, long Mark)> Marks()
    {
        double timeS = 0;
        for (long mark = 0; timeS < 14; mark++)
        {
            yield return (timeS, mark);
            timeS += 1 / (MarksPerTurn * 27 * (timeS < 0.5 ? 0.2 + (1.6 * timeS) : Math.Exp(-(timeS - 0.5) / 3000)));
        }
    }
}
