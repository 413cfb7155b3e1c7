using Acquire.Conditioning.Tests;
using Xunit;

namespace Acquire.Motion.Tests;

/// <summary>The last marks of a body with one mark that slows evenly, its wobble known: invented data.</summary>
public sealed class TailWobbleTests
{
    private const int Marks = 24;
    private const double SpeedTurnsPerS = 3.5;  // at the last of them
    private const double Deceleration = 0.15;
    private const double SizeTurns = 0.03;

    // The rate of a precession is a constant over the speed (m·g·l/(I₃·ω)): its phase grows by ln ω, where the speed falls evenly.
    [Theory]
    [InlineData(0.15)]
    [InlineData(0.34)]
    [InlineData(0.45)]
    public void The_marks_to_come_of_a_body_that_precesses_are_foretold(double cyclesPerTurn)
    {
        for (int seed = 0; seed < 20; seed++)
        {
            var random = new Random(seed);
            double phase = 2 * Math.PI * random.NextDouble();
            double Wobble(double timeS) =>
                SizeTurns * Math.Sin(phase - (2 * Math.PI * cyclesPerTurn * SpeedTurnsPerS * SpeedTurnsPerS / Deceleration * Math.Log(1 - (Deceleration * timeS / SpeedTurnsPerS))));
            TailWobble found = Find(random, Wobble, 0.002);
            Assert.True(found.IsFound, $"seed {seed}: not found");
            foreach (int turn in new[] { 1, 2 })
            {
                double dueS = TimeS(turn);
                double off = found.At(dueS) - Wobble(dueS);
                Assert.True(Math.Abs(off) < 2 * found.U, $"seed {seed}, turn {turn}: {off:F4} turns off, u {found.U:F4}");
            }
        }
    }

    [Fact]
    public void Jitter_alone_is_hardly_ever_taken_for_a_wobble()
    {
        int found = Enumerable.Range(0, 200).Count(seed => Find(new Random(seed), _ => 0, 0.01).IsFound);
        Assert.True(found <= 20, $"{found} of 200");
    }

    private static double TimeS(double turns) => SpeedTurnsPerS / Deceleration * (1 - Math.Sqrt(1 - (2 * Deceleration * turns / (SpeedTurnsPerS * SpeedTurnsPerS))));

    private static TailWobble Find(Random random, Func<double, double> wobble, double jitterTurns)
    {
        double[] turns = [.. Enumerable.Range(0, Marks).Select(i => (double)(i - Marks + 1))];
        double[] timeS = [.. turns.Select(t => TimeS(t - wobble(TimeS(t)) + (jitterTurns * ExactSpin.Normal(random))))];
        var marks = new MarkSeries(timeS, turns);
        return new TailWobble(marks, LocalFit.At(marks, 0, Marks, timeS[^1], 2), 1);
    }
}
