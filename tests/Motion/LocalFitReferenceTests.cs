using Xunit;

namespace Acquire.Motion.Tests;

/// <summary>The least squares of the local fit against certified values of the NIST Statistical Reference Datasets (public domain), and its
/// uncertainty against Cramér-Rao bounds.</summary>
public sealed class LocalFitReferenceTests
{
    // NIST StRD, linear regression, Norris (lower difficulty), y on x.
    private static readonly double[] NorrisY =
    [
        0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8,
        557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
    ];

    private static readonly double[] NorrisX =
    [
        0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6,
        556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
    ];

    // NIST StRD, linear regression, Pontius (lower difficulty): load cell, y deflection on x load, twice from 150,000 to 3,000,000.
    private static readonly double[] PontiusY =
    [
        .11019, .21956, .32949, .43899, .54803, .65694, .76562, .87487, .98292, 1.09146, 1.20001, 1.30822, 1.41599, 1.52399, 1.63194,
        1.73947, 1.84646, 1.95392, 2.06128, 2.16844, .11052, .22018, .32939, .43886, .54798, .65739, .76596, .87474, .98300, 1.09150,
        1.20004, 1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829,
    ];

    [Fact]
    public void A_line_through_Norris_has_the_certified_slope()
    {
        (double[] x, double[] y) = InOrder(NorrisX, NorrisY);
        LocalFit fit = LocalFit.At(new MarkSeries(x, y), 0, x.Length, 0, 1);
        Assert.Equal(1.00211681802045, fit.Speed, 1e-9);
        Assert.Equal(-0.262323073774029, fit.Angle, 1e-9);
        Assert.Equal(0.884796396144373, fit.ResidualRms, 1e-9);
        Assert.Equal(4.29796848199937e-4, fit.USpeed / StudentT.Stretch(x.Length - 2), 1e-12);
    }

    [Fact]
    public void A_parabola_through_Pontius_has_the_certified_coefficients()
    {
        double[] loads = [.. Enumerable.Range(0, 40).Select(i => 150_000.0 * ((i % 20) + 1))];
        (double[] x, double[] y) = InOrder(loads, PontiusY);
        LocalFit fit = LocalFit.At(new MarkSeries(x, y), 0, x.Length, 0, 2);
        Assert.Equal(1, fit.Angle / 6.73565789473684e-4, 1e-8);
        Assert.Equal(1, fit.Speed / 7.32059160401003e-7, 1e-8);
        Assert.Equal(1, fit.Acceleration / 2 / -3.16081871345029e-15, 1e-8);
        Assert.Equal(1, fit.ResidualRms / 2.05177424076185e-4, 1e-8);
    }

    // A parabola over N event times with white jitter σ: var T = 12σ²/[N(N²−1)] of the period at the middle, var c = 180σ²/[N(N²−1)(N²−4)] of
    // the quadratic term; f = 1/T, σ_f = f²σ_T, σ of df/dt = 2f³σ_c (Kay 1993, chapter 3, from memory; the numbers by an exact inverse).
    // N = 101, σ = 1 µs, T = 10 ms. An angle scatters by σ f.
    [Fact]
    public void Per_jitter_the_uncertainty_is_the_Cramér_Rao_bound()
    {
        const int N = 101;
        double[] time = [.. Enumerable.Range(0, N).Select(k => 0.01 * k)];
        double[] turns = [.. Enumerable.Range(0, N).Select(k => k + (1e-4 * ((k % 2) - 0.5)))]; // no likeness of neighbours
        LocalFit fit = LocalFit.At(new MarkSeries(time, turns), 0, N, 0.5, 2);
        double per = fit.ResidualRms * StudentT.Stretch(N - 3) / (1e-6 * 100);
        Assert.Equal(1, fit.USpeed / per / 3.412949e-5, 1e-6);
        Assert.Equal(1, fit.UAcceleration / per / 2.617998e-4, 1e-6);
    }

    // Quantiles of Student's t over the normal's 1.959964, any table of the distribution.
    [Theory]
    [InlineData(3, 3.1824)]
    [InlineData(12, 2.1788)]
    [InlineData(30, 2.0423)]
    [InlineData(120, 1.9799)]
    public void Few_residuals_stretch_an_uncertainty_as_Students_t_does(int freedom, double quantile) =>
        Assert.Equal(quantile, 1.959964 * StudentT.Stretch(freedom), 1e-3);

    private static (double[] X, double[] Y) InOrder(double[] x, double[] y)
    {
        (double[] sortedX, double[] sortedY) = ((double[])x.Clone(), (double[])y.Clone());
        Array.Sort(sortedX, sortedY);
        return (sortedX, sortedY);
    }
}
