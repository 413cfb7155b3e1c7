using Acquire.Results.Statistics;
using MathNet.Numerics.LinearAlgebra;
using Xunit;

namespace Acquire.Results.Tests.Statistics;

/// <summary>Statistics against published numbers; the source stands beside each.</summary>
public sealed class PublishedStatisticsTests
{
    // p values of a public collection of worked examples of Welch's test; t and degrees of freedom recomputed.
    [Theory]
    [InlineData(
        "27.5,21.0,19.0,23.6,17.0,17.9,16.9,20.1,21.9,22.6,23.1,19.6,19.0,21.7,21.4",
        "27.1,22.0,20.8,23.4,23.4,23.5,25.8,22.0,24.8,20.2,21.9,22.1,22.9,20.5,24.4", -2.45535640, 24.9885292, 0.021378001462867)]
    [InlineData("30.02,29.99,30.11,29.97,30.01,29.99", "29.89,29.93,29.72,29.98,30.02,29.98", 1.95900581, 7.03055996, 0.090773324285671)]
    [InlineData("3.0,4.0,1.0,2.1", "490.2,340.0,433.9", -9.55949772, 2.00085235, 0.010751561149785)]
    public void Welchs_test_gives_the_published_probability(string x, string y, double t, double degrees, double p)
    {
        MeanDifference found = MeanDifference.Welch(Sample.Of(Numbers(y)), Sample.Of(Numbers(x)));
        Assert.Equal(t, found.T, 1e-7);
        Assert.Equal(degrees, found.DegreesOfFreedom, 1e-6);
        Assert.Equal(p, found.P, 1e-10);
    }

    // NIST StRD SiRstv (public domain), each value less 196.
    [Fact]
    public void Between_and_within_groups_are_those_certified_for_SiRstv()
    {
        double[][] groups =
        [
            [.3052, .1240, .1890, .2569, .3403], [.3042, .3825, .1669, .3257, .0422], [.1303, .2005, .2889, .0343, .1811],
            [.2795, .1748, .1494, .1485, -.0115], [.2119, .1051, .1850, .0052, .2090],
        ];
        Anova found = Anova.Of([.. groups.Select(g => g.Select(v => 196 + v).ToArray())]);
        Assert.Equal(1, found.Between / 0.0511462616, 1e-9);
        Assert.Equal(1, found.Within / 0.21663656, 1e-9);
        Assert.Equal(1, found.F / 1.18046237440255, 1e-9);
        Repeatability pooled = Repeatability.Of(groups);
        Assert.Equal(20, pooled.DegreesOfFreedom);
        Assert.Equal(1, pooled.Variance * 20 / 0.21663656, 1e-9);
    }

    // Copper in flour, Venables & Ripley, Modern Applied Statistics with S, 5.5; the flag is Iglewicz & Hoaglin's, from memory.
    [Fact]
    public void Of_the_flour_two_values_are_flagged()
    {
        double[] chem = Numbers("2.20,2.20,2.4,2.4,2.5,2.7,2.8,2.9,3.03,3.03,3.10,3.37,3.4,3.4,3.4,3.5,3.6,3.7,3.7,3.7,3.7,3.77,5.28,28.95");
        Assert.Equal(4.2804, Sample.Of(chem).Mean, 1e-4);
        Assert.Equal(3.385, Robust.Median(chem), 1e-9);
        Assert.Equal(0.52632, Robust.ScaledMad(chem), 1e-5);
        double[] z = Robust.ModifiedZ(chem);
        Assert.Equal(48.5735, z[^1], 1e-4);
        Assert.Equal(3.6005, z[^2], 1e-4);
        Assert.Equal(2, z.Count(v => Math.Abs(v) > Robust.FlagBeyond));
    }

    // GUM (JCGM 100:2008) H.3: a thermometer's correction as a line of temperature about 20 °C; recomputed to more digits.
    [Fact]
    public void The_line_of_the_GUMs_thermometer_comes_out()
    {
        double[] t = Numbers("21.521,22.012,22.512,23.003,23.507,23.999,24.513,25.002,25.503,26.010,26.511");
        double[] b = Numbers("-.171,-.169,-.166,-.159,-.164,-.165,-.156,-.157,-.159,-.161,-.160");
        LinearModel line = LinearModel.Fit(Matrix<double>.Build.Dense(11, 2, (i, j) => j == 0 ? 1 : t[i] - 20), Vector<double>.Build.Dense(b))!;
        Assert.Equal(-0.171203790, line.Coefficients[0], 1e-8);
        Assert.Equal(0.00218269774, line.Coefficients[1], 1e-8);
        Assert.Equal(0.00287759784, Math.Sqrt(line.Covariance[0, 0]), 1e-8);
        Assert.Equal(6.67938773e-4, Math.Sqrt(line.Covariance[1, 1]), 1e-8);
        Assert.Equal(-0.930429603, line.Covariance[0, 1] / Math.Sqrt(line.Covariance[0, 0] * line.Covariance[1, 1]), 1e-8);
        Assert.Equal(0.00349756396, line.ResidualSd, 1e-8);
        (double value, double u) = line.At(Vector<double>.Build.Dense([1, 10]));
        Assert.Equal(-0.149376813, value, 1e-8);
        Assert.Equal(0.00413859575, u, 1e-8);
    }

    // Dunnett 1955, table 1a (one-sided, 95 %, groups of one size), from memory, two decimals.
    [Theory]
    [InlineData(5, 1, 2.02)]
    [InlineData(5, 3, 2.68)]
    [InlineData(10, 2, 2.15)]
    [InlineData(10, 4, 2.47)]
    [InlineData(20, 3, 2.19)]
    [InlineData(double.PositiveInfinity, 2, 1.92)]
    public void Dunnetts_limit_is_that_of_his_table(double degrees, int others, double limit) =>
        Assert.Equal(limit, MultipleBest.DunnettLimit(4, [.. Enumerable.Repeat(4, others)], degrees, 0.95), 0.006);

    // Holm's procedure by hand: 3·0.01, then 2·0.02, then 0.03 raised to the one before.
    [Fact]
    public void Holms_probabilities_rise_with_the_number_of_tests_and_never_fall_behind_one_another()
    {
        double[] found = HolmAdjustment.Of([0.03, 0.01, double.NaN, 0.02]);
        Assert.Equal(0.04, found[0], 1e-15);
        Assert.Equal(0.03, found[1], 1e-15);
        Assert.True(double.IsNaN(found[2]));
        Assert.Equal(0.04, found[3], 1e-15);
    }

    private static double[] Numbers(string text) =>
        [.. text.Split(',').Select(v => double.Parse(v, System.Globalization.CultureInfo.InvariantCulture))];
}
