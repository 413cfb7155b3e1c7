using Acquire.Conditioning.Tests;
using Xunit;

namespace Acquire.Motion.Tests;

public sealed class StopIntervalTests
{
    [Theory]
    [InlineData(1, 20)]
    [InlineData(4, 21)]
    public void Between_the_last_mark_and_the_one_that_did_not_come_95_percent_are_held(int marks, int firstSeed)
    {
        const int Runs = 300;
        int held = 0;
        for (int run = 0; run < Runs; run++)
        {
            var random = new Random((firstSeed * 1000) + run);
            var spin = new ExactSpin
            {
                TauS = 20,
                LastTurnsPerS = 3 + random.NextDouble(),
                FirstMarkTurns = 0.9 * random.NextDouble() / marks,
                MarkOffsets = [.. Enumerable.Range(0, marks).Select(i => (double)i / marks)],
            };
            var times = spin.Marks().Where(m => m.TimeS > spin.ReleaseS).ToList();
            var series = new MarkSeries([.. times.Select(m => m.TimeS + (2e-5 * ExactSpin.Normal(random)))], [.. times.Select(m => m.Turns)]);
            SpinEstimate found = SpinEstimator.Estimate(series, marks, 1);
            held += Math.Abs(found.StopS - spin.StopS) <= 1.96 * found.UStopS ? 1 : 0;
        }

        // 95 % of 300, give or take two and a half standard deviations of the sample.
        Assert.InRange(held / (double)Runs, 0.918, 0.982);
    }
}
