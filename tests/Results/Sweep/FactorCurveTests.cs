using Acquire.Results.Comparison;
using Acquire.Results.Statistics;
using Acquire.Results.Sweep;
using Xunit;

namespace Acquire.Results.Tests.Sweep;

public sealed class FactorCurveTests
{
    private static readonly double[] Levels = [2, 4, 6, 9, 14];

    private static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    private static List<FactorPoint> Points(Func<double, double> log, double sd, int repeats, int seed)
    {
        var random = new Random(seed);
        return [.. Levels.SelectMany(v => Enumerable.Range(0, repeats).Select(i => new FactorPoint($"{v}-{i}", v, new LogTime(log(v) + (sd * Normal(random)), 1e-4))))];
    }

    [Fact]
    public void The_best_of_a_quadratic_is_found_within_its_interval()
    {
        FactorCurve found = FactorCurve.Of("", Points(v => 7 - (0.003 * (v - 7) * (v - 7)), 0.01, 3, 1), default, []);
        Assert.StartsWith("quadratic", found.Model);
        Assert.InRange(7, found.BestLow, found.BestHigh);
        Assert.True(found.BestHigh - found.BestLow < 1.5);
        Assert.False(found.ReachesEdge);
        Assert.False(found.Levels[^1].MayBeBest);
        Assert.True(found.Levels[2].MayBeBest);
        Assert.True(found.Differences.P < 1e-6);
    }

    // Fieller's interval by its own formula: the values x at which b + 2cx is within t of zero (Buonaccorsi, Encyclopedia of Biostatistics; from
    // memory), here by the roots of that quadratic.
    [Fact]
    public void The_interval_of_a_quadratics_best_is_Fiellers()
    {
        List<FactorPoint> points = Points(v => 7 - (0.003 * (v - 7) * (v - 7)), 0.003, 3, 2);
        FactorCurve found = FactorCurve.Of("", points, default, []);
        Assert.Equal("quadratic", found.Model);
        var design = MathNet.Numerics.LinearAlgebra.Matrix<double>.Build.Dense(points.Count, 3, (i, k) => Math.Pow(points[i].Value - 8, k));
        LinearModel fit = LinearModel.Fit(design, MathNet.Numerics.LinearAlgebra.Vector<double>.Build.Dense([.. points.Select(p => p.Time.Value)]))!;
        double t2 = Math.Pow(Student.Quantile(0.975, points.Count - 3), 2);
        (double b, double c) = (fit.Coefficients[1], fit.Coefficients[2]);
        double p = (4 * c * c) - (t2 * 4 * fit.Covariance[2, 2]);
        double q = (4 * b * c) - (t2 * 4 * fit.Covariance[1, 2]);
        double r = (b * b) - (t2 * fit.Covariance[1, 1]);
        double root = Math.Sqrt((q * q) - (4 * p * r));
        Assert.Equal(8 + ((-q - root) / (2 * p)), found.BestLow, 0.007);
        Assert.Equal(8 + ((-q + root) / (2 * p)), found.BestHigh, 0.007);
        Assert.Equal(8 - (b / (2 * c)), found.Best, 0.004);
    }

    [Fact]
    public void A_curve_that_still_rises_at_the_end_says_that_the_best_may_lie_outside()
    {
        FactorCurve found = FactorCurve.Of("", Points(v => 6 + (0.02 * v) - (0.0003 * v * v), 0.01, 3, 3), default, []);
        Assert.Equal(14, found.Best);
        Assert.True(found.ReachesEdge);
    }

    [Fact]
    public void A_curve_steep_on_one_side_is_taken_in_the_logarithm_and_said_so()
    {
        FactorCurve found = FactorCurve.Of("", Points(v => 6 - (0.2 * Math.Pow(Math.Log(v / 3.5), 2)), 0.004, 4, 4), default, []);
        Assert.StartsWith("quadratic in the factor's logarithm", found.Model);
        Assert.InRange(3.5, found.BestLow, found.BestHigh);
    }

    [Fact]
    public void Values_off_every_smooth_curve_are_left_to_speak_for_themselves()
    {
        FactorCurve found = FactorCurve.Of("", Points(v => v is 4 or 9 ? 6.2 : 6, 0.002, 4, 5), default, []);
        Assert.StartsWith("no curve", found.Model);
        Assert.Equal([4.0, 9.0], found.Levels.Where(l => l.MayBeBest).Select(l => l.Value));
        Assert.True(found is { BestLow: 4, BestHigh: 9 });
    }

    [Fact]
    public void Values_spun_once_have_no_interval_without_a_repeatability_and_one_with_it()
    {
        List<FactorPoint> points = [.. Points(v => 7 - (0.003 * (v - 7) * (v - 7)), 0, 1, 6).Take(3)];
        FactorCurve bare = FactorCurve.Of("", points, default, []);
        Assert.True(double.IsNaN(bare.BestLow) && double.IsNaN(bare.Levels[0].LowS));
        FactorCurve known = FactorCurve.Of("", points, Repeatability.Of([[0.0, 0.01, 0.02], [1.0, 1.02]]), []);
        Assert.True(known.BestLow <= known.Best && known.BestHigh >= known.Best && known.Levels[0].LowS < known.Levels[0].MeanS);
    }

    [Fact]
    public void A_sweep_parts_categories_names_who_is_left_out_and_warns_of_order()
    {
        SweptRun Of(string top, double clearance, int i, double hours) => new(
            new DrawnSpin { Scale = 1 + (0.002 * i), Cut = 0.3 - (0.005 * Math.Pow(clearance - 6, 2)) }.Run($"{top}-{clearance}-{i}", hours, factor: $"{clearance}"), clearance, top);
        var runs = new List<SweptRun>();
        foreach (double v in new double[] { 2, 6, 10 })
        {
            runs.AddRange(Enumerable.Range(0, 2).Select(i => Of("a", v, i, v + (0.1 * i))));
            runs.AddRange(Enumerable.Range(0, 2).Select(i => Of("b", v, i, (v * 7 % 5) + (10 * i))));
        }

        runs.Add(Of("c", 4, 0, 1));
        runs.Add(new SweptRun(new DrawnSpin { PeakRpm = 1500 }.Run("slow"), 2, "a"));
        FactorSweep found = FactorSweep.Of(runs, [], 2000, 500, "clearance_mm", "", out _)!;
        Assert.Equal(["a", "b"], found.Curves.Select(c => c.Category));
        Assert.Contains(found.LeftOut, l => l.Run == "slow");
        Assert.Contains(found.LeftOut, l => l.Run == "c-4-0" && l.Why.Contains("one value", StringComparison.Ordinal));
        Assert.Contains(found.Warnings, w => w.StartsWith("a: the values were spun in their order", StringComparison.Ordinal));
        Assert.DoesNotContain(found.Warnings, w => w.StartsWith("b:", StringComparison.Ordinal));
        Assert.InRange(found.Curves[0].Best, 5.5, 6.5);
    }
}
