using System.Globalization;
using Acquire.Results.Planning;
using Acquire.Results.Statistics;
using MathNet.Numerics.Distributions;
using Xunit;

namespace Acquire.Results.Tests.Planning;

/// <summary>Sample sizes beside those of R and of statsmodels: sample_sizes.csv and sample_sizes_statsmodels.csv, made by the scripts beside them, whose first lines
/// name versions and commands.</summary>
public sealed class RepeatsNeededTests
{
    private static readonly double Known = double.PositiveInfinity;

    private static Dictionary<string, double>[] Table(string file)
    {
        string[][] lines = [.. File.ReadAllLines(Path.Combine(AppContext.BaseDirectory, file)).Select(l => l.Split(','))];
        return [.. lines.Skip(1).Select(l => lines[0].Zip(l).ToDictionary(p => p.First, p => p.Second == "NA" ? double.NaN : double.Parse(p.Second, CultureInfo.InvariantCulture)))];
    }

    [Fact]
    public void Repeats_are_those_of_Rs_power_t_test_and_of_statsmodels_TTestIndPower()
    {
        foreach ((string file, string column) in new[] { ("sample_sizes.csv", "n_r"), ("sample_sizes_statsmodels.csv", "n_statsmodels") })
        {
            Dictionary<string, double>[] cases = Table(file);
            Assert.Equal(48, cases.Length);
            foreach (Dictionary<string, double> c in cases)
            {
                double n = Math.Ceiling(c[column] - 1e-6);
                var needed = new RepeatsNeeded(c["difference"], new KnownScatter(c["sd"], Known), c["level"], c["power"]);
                int? found = needed.ByStudent;
                Assert.Equal(n <= Power.MostRuns ? (int)n : null, found);
                Assert.InRange(needed.AsItIs ?? Power.MostRuns + 1, found ?? Power.MostRuns + 1, (found ?? Power.MostRuns) + 3);
            }
        }
    }

    [Fact]
    public void The_power_of_so_many_repeats_and_of_one_fewer_is_Rs()
    {
        foreach (Dictionary<string, double> c in Table("sample_sizes.csv"))
        {
            int n = Math.Max(2, (int)Math.Ceiling(c["n_r"] - 1e-6));
            double Of(int runs) => Power.Of(c["difference"], c["sd"], runs, runs, (2 * runs) - 2, c["level"]);
            Assert.Equal(c["power_at_r"], Of(n), 1e-7);
            if (n > 2) Assert.Equal(c["power_below_r"], Of(n - 1), 1e-7);
        }
    }

    // By 200,000 draws of two groups of normal numbers each and scipy's ttest_ind(equal_var=False), numpy's default_rng(3): good to 0.003 (scipy 1.10.1).
    [Theory]
    [InlineData(2, 5.65, 0.474)]
    [InlineData(3, 3.07, 0.697)]
    [InlineData(4, 2.38, 0.758)]
    [InlineData(5, 2.02, 0.776)]
    [InlineData(6, 1.80, 0.786)]
    [InlineData(8, 1.51, 0.794)]
    [InlineData(12, 1.20, 0.797)]
    public void The_power_of_Welchs_test_is_that_of_drawn_groups(int runs, double difference, double power)
    {
        Assert.Equal(power, WelchPower.Of(difference, 1, runs, 0.05), 0.0045);
        Assert.Equal(difference, WelchPower.SmallestShown(1, runs, 0.05, WelchPower.Of(difference, 1, runs, 0.05)), 1e-5);
    }

    // Quantiles of χ² for 10 degrees of freedom: 3.24697 and 20.48318 (tables of the NIST/SEMATECH e-Handbook, 1.3.6.7.4: 3.247, 20.483).
    [Fact]
    public void The_interval_of_a_scatter_is_that_of_chi_squared()
    {
        var scatter = new KnownScatter(0.02, 10);
        Assert.Equal(0.02 * Math.Sqrt(10 / 20.483), scatter.LowSd, 1e-6);
        Assert.Equal(0.02 * Math.Sqrt(10 / 3.247), scatter.HighSd, 1e-6);
    }

    [Fact]
    public void The_fewer_runs_tell_the_scatter_the_more_repeats_are_advised_and_they_end_at_those_of_a_known_one()
    {
        // By scipy 1.10.1: means of nct powers over quantiles of χ² and of the beta distribution of the share of the variances (Debian bookworm).
        int?[] advised = [.. new[] { 2.0, 4, 10, 30, 1000, Known }.Select(v => new RepeatsNeeded(0.01, new KnownScatter(0.01, v), 0.05, 0.8).Advised)];
        Assert.Equal([41, 26, 20, 18, 17, 17], advised);
        var of4 = new RepeatsNeeded(0.01, new KnownScatter(0.01, 4), 0.05, 0.8);
        Assert.True(of4.AtLeast < of4.AsItIs && of4.AsItIs < of4.Advised && of4.Advised < of4.AtMost);
    }

    // The mean power by integration beside the same mean by drawing: χ² of 5 degrees of freedom, seed fixed, 4,000 draws: ± 0.005.
    [Fact]
    public void The_mean_power_over_what_the_scatter_may_be_is_that_of_drawn_scatters()
    {
        var needed = new RepeatsNeeded(0.02, new KnownScatter(0.015, 5), 0.05, 0.8);
        var random = new Random(5);
        double mean = Enumerable.Range(0, 4_000).Average(_ =>
            WelchPower.Of(0.02, 0.015 * Math.Sqrt(5 / ChiSquared.Sample(random, 5)), 12, 0.05));
        Assert.Equal(mean, needed.MeanPower(12), 0.015);
    }

    [Fact]
    public void What_would_take_too_many_is_no_number()
    {
        Assert.Null(new RepeatsNeeded(1e-5, new KnownScatter(0.02, 6), 0.05, 0.8).Advised);
        Assert.Null(new RepeatsNeeded(1e-5, new KnownScatter(0.02, Known), 0.05, 0.8).AsItIs);
    }
}
