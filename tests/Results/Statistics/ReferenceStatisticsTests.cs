using System.Diagnostics;
using System.Text.Json;
using Acquire.Results.Statistics;
using Xunit;

namespace Acquire.Results.Tests.Statistics;

/// <summary>Tests, quantiles and power beside those of scipy (Debian's python3-scipy) on the same numbers.</summary>
public sealed class ReferenceStatisticsTests
{
    private static readonly double[][][] Pairs =
    [
        [[6.21, 6.19, 6.24, 6.2], [6.4, 6.37, 6.35]], [[0.1, 0.4], [0.2, 0.9, 1.4, 0.3]], [[5, 5.1, 4.9, 5.05, 5.2, 4.7], [5.1, 5.0, 5.3, 5.6]],
    ];

    private static readonly double[][] Quantiles = [[0.975, 1], [0.975, 2.4], [0.975, 7.03], [0.9, 11], [0.995, 38], [0.975, 250], [0.6, 3]];
    private static readonly double[][] Shifted = [[2.1, 3, 1.5], [-1, 2, 0.5], [2.0, 10, 3.2], [12.7, 1, 9], [1.97, 198, 2.8], [-2.5, 6, 1], [3.2, 4.6, 4]];
    private static readonly double[][] Powers = [[0.03, 0.02, 4, 4], [0.05, 0.02, 3, 5], [0.01, 0.02, 10, 10], [0.2, 0.1, 2, 2]];
    private static readonly double[][] Needed = [[0.03, 0.02], [0.01, 0.015], [0.1, 0.02], [0.005, 0.02]];
    private static readonly double[][] Smallest = [[0.02, 4, 4], [0.01, 3, 6], [0.015, 2, 2], [1, 12, 9]];
    private static readonly double[][] Groups = [[1.0, 1.2, 0.9], [1.3, 1.5], [1.1, 1.0, 1.4, 1.25]];
    private static readonly Lazy<JsonElement> Reference = new(Ask);

    private static double[] Numbers(JsonElement e) => [.. e.EnumerateArray().Select(v => v.GetDouble())];

    [Fact]
    public void Welchs_test_agrees_to_ten_digits()
    {
        foreach ((double[][] pair, JsonElement expected) in Pairs.Zip(Reference.Value.GetProperty("welch").EnumerateArray()))
        {
            MeanDifference found = MeanDifference.Welch(Sample.Of(pair[0]), Sample.Of(pair[1]));
            Assert.Equal(1, found.T / expected[0].GetDouble(), 1e-10);
            Assert.Equal(1, found.P / expected[1].GetDouble(), 1e-9);
        }
    }

    [Fact]
    public void The_permutation_test_over_all_arrangements_agrees_exactly()
    {
        foreach ((double[][] pair, double expected) in Pairs.Zip(Numbers(Reference.Value.GetProperty("permutation"))))
        {
            PermutationTest found = PermutationTest.Of(pair[0], pair[1]);
            Assert.True(found.IsExact);
            Assert.Equal(expected, found.P, 1e-12);
        }
    }

    [Fact]
    public void Quantiles_and_probabilities_of_t_agree_to_nine_digits()
    {
        double[][] expected = [.. Reference.Value.GetProperty("quantiles").EnumerateArray().Select(Numbers)];
        for (int i = 0; i < Quantiles.Length; i++)
        {
            Assert.Equal(1, Student.Quantile(Quantiles[i][0], Quantiles[i][1]) / expected[0][i], 1e-9);
            Assert.Equal(1, Student.Below(Quantiles[i][0], Quantiles[i][1]) / expected[1][i], 1e-9);
        }
    }

    [Fact]
    public void The_shifted_t_agrees_to_nine_decimals()
    {
        foreach ((double[] asked, double expected) in Shifted.Zip(Numbers(Reference.Value.GetProperty("nct"))))
            Assert.Equal(expected, NoncentralT.Below(asked[0], asked[1], asked[2]), 1e-9);
    }

    [Fact]
    public void Power_and_runs_needed_and_the_smallest_difference_agree()
    {
        foreach ((double[] a, double expected) in Powers.Zip(Numbers(Reference.Value.GetProperty("power"))))
            Assert.Equal(expected, Power.Of(a[0], a[1], (int)a[2], (int)a[3], a[2] + a[3] - 2, 0.05), 1e-8);
        foreach ((double[] a, double expected) in Needed.Zip(Numbers(Reference.Value.GetProperty("needed"))))
            Assert.Equal((int)expected, Power.RunsNeeded(a[0], a[1]));
        foreach ((double[] a, double expected) in Smallest.Zip(Numbers(Reference.Value.GetProperty("smallest"))))
        {
            double u = a[0] * Math.Sqrt((1 / a[1]) + (1 / a[2]));
            Assert.Equal(1, Power.SmallestShown(u, a[1] + a[2] - 2) / expected, 1e-6);
        }
    }

    [Fact]
    public void The_analysis_of_variance_agrees()
    {
        double[] expected = Numbers(Reference.Value.GetProperty("anova"));
        Anova found = Anova.Of(Groups);
        Assert.Equal(1, found.F / expected[0], 1e-12);
        Assert.Equal(1, found.P / expected[1], 1e-10);
    }

    private static JsonElement Ask()
    {
        var start = new ProcessStartInfo("/usr/bin/python3", [Path.Combine(AppContext.BaseDirectory, "reference_statistics.py")])
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        using Process python = Process.Start(start)!;
        Task<string> errors = python.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
        python.StandardInput.Write(JsonSerializer.Serialize(new Dictionary<string, object>
        {
            ["pairs"] = Pairs,
            ["small"] = Pairs,
            ["quantiles"] = Quantiles,
            ["nct"] = Shifted,
            ["power"] = Powers,
            ["needed"] = Needed,
            ["smallest"] = Smallest,
            ["groups"] = Groups,
        }));
        python.StandardInput.Close();
        string output = python.StandardOutput.ReadToEnd();
        python.WaitForExit();
        Assert.True(python.ExitCode == 0, errors.Result);
        return JsonDocument.Parse(output).RootElement;
    }
}
