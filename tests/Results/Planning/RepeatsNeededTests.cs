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
                int? found = new RepeatsNeeded(c["difference"], new KnownScatter(c["sd"], Known), c["level"], c["power"]).AsItIs;
                Assert.Equal(n <= Power.MostRuns ? (int)n : null, found);
            }
        }
    }

    [Fact]
    public void The_power_of_so_many_repeats_and_of_one_fewer_is_Rs()
    {
        foreach (Dictionary<string, double> c in Table("sample_sizes.csv"))
        {
            int n = Math.Max(2, (int)Math.Ceiling(c["n_r"] - 1e-6));
            var needed = new RepeatsNeeded(c["difference"], new KnownScatter(c["sd"], Known), c["level"], c["power"]);
            Assert.Equal(c["power_at_r"], needed.MeanPower(n), 1e-7);
            if (n > 2) Assert.Equal(c["power_below_r"], needed.MeanPower(n - 1), 1e-7);
        }
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
        // By scipy 1.10.1: the mean of nct powers over 1000 quantiles of χ² (Debian bookworm's python3-scipy).
        int?[] advised = [.. new[] { 2.0, 4, 10, 30, 1000, Known }.Select(v => new RepeatsNeeded(0.01, new KnownScatter(0.01, v), 0.05, 0.8).Advised)];
        Assert.Equal([41, 26, 20, 18, 17, 17], advised);
        var of4 = new RepeatsNeeded(0.01, new KnownScatter(0.01, 4), 0.05, 0.8);
        Assert.True(of4.AtLeast < of4.AsItIs && of4.AsItIs < of4.Advised && of4.Advised < of4.AtMost);
    }

    // The mean power by integration beside the same mean by drawing: χ² of 5 degrees of freedom, seed fixed, 20,000 draws: ± 0.002.
    [Fact]
    public void The_mean_power_over_what_the_scatter_may_be_is_that_of_drawn_scatters()
    {
        var needed = new RepeatsNeeded(0.02, new KnownScatter(0.015, 5), 0.05, 0.8);
        var random = new Random(5);
        double mean = Enumerable.Range(0, 20_000).Average(_ =>
            Power.Of(0.02, 0.015 * Math.Sqrt(5 / ChiSquared.Sample(random, 5)), 12, 12, 22, 0.05));
        Assert.Equal(mean, needed.MeanPower(12), 0.008);
    }

    [Fact]
    public void What_would_take_too_many_is_no_number()
    {
        Assert.Null(new RepeatsNeeded(1e-5, new KnownScatter(0.02, 6), 0.05, 0.8).Advised);
        Assert.Null(new RepeatsNeeded(1e-5, new KnownScatter(0.02, Known), 0.05, 0.8).AsItIs);
    }
}
