using Acquire.Conditioning.Tests;
using Xunit;

namespace Acquire.Motion.Tests;

public sealed class WobbleTests
{
    private const double Constant = 9.3; // precessions a second times turns a second

    // Of an exponential decay the time ∫dt/n is τ(1/n − 1/n₀): elementary calculus.
    private static SpinEstimate Estimate(double sizeTurns, int seed)
    {
        var spin = new ExactSpin();
        var random = new Random(seed);
        var marks = spin.Marks().Where(m => m.TimeS > spin.ReleaseS).ToList();
        double[] time = [.. marks.Select(m =>
        {
            double speed = spin.SpeedAt(m.TimeS);
            double cycles = Constant * spin.TauS * ((1 / speed) - (1 / spin.PeakTurnsPerS));
            double wobble = sizeTurns * (10 / speed) * Math.Sin(2 * Math.PI * cycles);
            return m.TimeS - marks[0].TimeS - (wobble / speed) + (2e-5 * ExactSpin.Normal(random));
        })];
        return SpinEstimator.Estimate(new MarkSeries(time, [.. marks.Select(m => m.Turns)]), 1, 1);
    }

    [Theory]
    [InlineData(0.001)]
    [InlineData(0.004)]
    public void Its_constant_and_size_are_found(double sizeTurns)
    {
        Wobble? wobble = Estimate(sizeTurns, 1).Wobble;
        Assert.NotNull(wobble);
        Assert.InRange(Math.Abs(wobble.ConstantPerS2 - Constant), 0, 3.5 * wobble.UConstantPerS2);
        Assert.InRange(wobble.UConstantPerS2, 0, 1e-3 * Constant);
        Assert.Equal(Constant / 10, wobble.HzAt(600), 1e-3);
        WobbleSize middle = wobble.Sizes.MinBy(s => Math.Abs(s.Rpm - 600));
        Assert.Equal(sizeTurns * 600 / middle.Rpm, middle.AmplitudeTurns, 0.2 * sizeTurns);
    }

    [Theory]
    [InlineData(0.0005)]
    [InlineData(0.002)]
    [InlineData(0.006)]
    public void The_uncertainty_of_its_size_holds_the_true_size(double sizeTurns)
    {
        var z = new List<double>();
        for (int seed = 0; seed < 20; seed++)
        {
            // Where the speed changes by a tenth or less in a stretch its mean amplitude is that of its middle.
            foreach (WobbleSize size in Estimate(sizeTurns, seed).Wobble!.Sizes.Take(18))
                z.Add((size.AmplitudeTurns - (sizeTurns * 600 / size.Rpm)) / size.UAmplitudeTurns);
        }

        Assert.InRange(z.Count(v => Math.Abs(v) <= 1.96) / (double)z.Count, 0.93, 1);
        Assert.InRange(Math.Sqrt(z.Average(v => v * v)), 0.6, 1.2);
    }

    [Fact]
    public void Of_white_jitter_none_is_made_up() =>
        Assert.All(Enumerable.Range(0, 20), seed => Assert.Null(Estimate(0, seed).Wobble));

    [Fact]
    public void It_hardly_worsens_the_speed()
    {
        var spin = new ExactSpin();
        double still = Rms(Estimate(0, 3), spin);
        double wobbling = Rms(Estimate(0.004, 3), spin);
        Assert.InRange(wobbling / still, 0, 1.5);
    }

    private static double Rms(SpinEstimate found, ExactSpin spin)
    {
        double firstS = spin.Marks().First(m => m.TimeS > spin.ReleaseS).TimeS;
        return Math.Sqrt(found.Speed.Where(p => p.TimeS > 5 && p.TimeS < found.StopS - 5)
            .Average(p => Math.Pow((p.Rpm / (60 * spin.SpeedAt(p.TimeS + firstS))) - 1, 2)));
    }
}
