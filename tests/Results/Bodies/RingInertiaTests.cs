using Acquire.Results.Bodies;
using Xunit;

namespace Acquire.Results.Tests.Bodies;

public sealed class RingInertiaTests
{
    private const double J = 2e-4;
    private const double Jr = 1e-4;

    private static RingInertia Of(double u, double[] without, double[] with, double uRing = 0) =>
        RingInertia.Of(Jr, uRing, [.. without.Select(t => (t, u))], [.. with.Select(t => (t, u))])!;

    // Exact: J/(J + Jr) = 2/3.
    [Fact]
    public void Half_as_long_again_with_a_ring_of_half_the_inertia()
    {
        RingInertia found = Of(0, [600], [900]);
        Assert.Equal(J, found.InertiaKgM2, 1e-16);
        Assert.False(found.ShowsRepeatability);
    }

    // J dω/dt = −(a + bω + cω²) integrated by Simpson's rule: the law of the losses cancels.
    [Fact]
    public void Whatever_the_losses_the_inertia_comes_out()
    {
        double Time(double inertia)
        {
            const int Steps = 2000;
            double sum = 0;
            for (int i = 0; i <= Steps; i++)
            {
                double w = 50 + (150.0 * i / Steps);
                sum += (i is 0 or Steps ? 1 : i % 2 == 1 ? 4 : 2) / (1e-5 + (2e-7 * w) + (3e-9 * w * w));
            }

            return inertia * sum * 150 / Steps / 3;
        }

        Assert.Equal(1, Of(0, [Time(J)], [Time(J + Jr)]).InertiaKgM2 / J, 1e-12);
    }

    // JCGM 100:2008, 5.1.2: ∂J/∂Jr = 1/(R−1), ∂J/∂R = −Jr/(R−1)².
    [Fact]
    public void Its_uncertainty_is_that_of_the_ring_and_of_both_times()
    {
        RingInertia found = Of(3, [600], [900], uRing: 1e-6);
        double uR = 1.5 * Math.Sqrt(Math.Pow(3 / 600.0, 2) + Math.Pow(3 / 900.0, 2));
        Assert.Equal(Math.Sqrt(Math.Pow(1e-6 / 0.5, 2) + Math.Pow(Jr / 0.25 * uR, 2)), found.UInertiaKgM2, 1e-12);
        Assert.InRange(found.HighKgM2 - found.InertiaKgM2, 1.96 * found.UInertiaKgM2, 2.4 * found.UInertiaKgM2);
    }

    [Fact]
    public void No_inertia_follows_from_a_ring_that_makes_no_difference()
    {
        Assert.Null(RingInertia.Of(Jr, 0, [(600, 1)], [(600, 1)]));
        Assert.Null(RingInertia.Of(Jr, 0, [(600, 1)], [(500, 1)]));
        Assert.True(double.IsPositiveInfinity(Of(30, [600], [620]).HighKgM2));
    }

    // R' = R/(1 + sq) is what is seen where a share s of the loss grows by the weight q that is added: back to the truth.
    [Fact]
    public void Friction_that_grows_with_the_weight_can_be_taken_out()
    {
        double seen = 1.5 / (1 + (0.1 * 0.4));
        Assert.Equal(J, Of(0, [600], [600 * seen]).WithTipFriction(Jr, 0.4, 0.1), 1e-12);
    }

    // Spins that scatter by 1.5 % either way; 2,000 tries, so that 95 % is ±1 %.
    [Theory]
    [InlineData(3, 3)]
    [InlineData(5, 2)]
    public void Its_interval_holds_the_truth_in_95_of_100_cases(int without, int with)
    {
        var random = new Random(11);
        int held = 0;
        const int Tries = 2000;
        for (int i = 0; i < Tries; i++)
        {
            RingInertia found = Of(0.01, Draw(without, 600), Draw(with, 900));
            held += J >= found.LowKgM2 && J <= found.HighKgM2 ? 1 : 0;
        }

        Assert.InRange(held / (double)Tries, 0.93, 0.97);

        double[] Draw(int count, double seconds) => [.. Enumerable.Range(0, count).Select(_ => seconds * Math.Exp(0.015 * Normal()))];
        double Normal() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
    }
}
