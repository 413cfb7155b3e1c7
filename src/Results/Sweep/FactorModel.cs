using Acquire.Results.Statistics;
using MathNet.Numerics.Distributions;
using MathNet.Numerics.LinearAlgebra;

namespace Acquire.Results.Sweep;

/// <summary>The logarithm of the decay time as a polynomial of a factor or of its logarithm.</summary>
internal sealed class FactorModel
{
    private const double LackLevel = 0.05;
    private readonly int _degree;
    private readonly bool _ofLog;
    private readonly double _middle;
    private readonly double _half;
    private readonly LinearModel _fit;
    private readonly double _t;

    private FactorModel(int degree, bool ofLog, double[] values, LinearModel fit, double degreesOfFreedom)
    {
        (_degree, _ofLog, _fit) = (degree, ofLog, fit);
        (_middle, _half) = Frame(values, ofLog);
        _t = Student.Quantile(0.975, degreesOfFreedom);
    }

    /// <summary>What it is, for people.</summary>
    public string Name => (_degree == 2 ? "quadratic" : "cubic") + (_ofLog ? " in the factor's logarithm" : "");

    /// <summary>Finds the first that fits: quadratic; then, if the levels lie off it by more than repeats do, quadratic in the logarithm, cubic, cubic in
    /// the logarithm. Null where none does or there are fewer than three levels.</summary>
    /// <param name="points">The runs.</param>
    /// <param name="outside">A scatter known from elsewhere, for runs that leave none over.</param>
    public static FactorModel? Choose(IReadOnlyList<FactorPoint> points, Repeatability outside)
    {
        double[] values = [.. points.Select(p => p.Value)];
        int levels = values.Distinct().Count();
        Anova within = Anova.Of([.. points.GroupBy(p => p.Value, p => p.Time.Value).Select(g => (IReadOnlyCollection<double>)[.. g])]);
        foreach ((int degree, bool ofLog) in new[] { (2, false), (2, true), (3, false), (3, true) })
        {
            if (levels < degree + 1 || (degree == 3 && levels < 5) || (ofLog && values.Min() <= 0))
                continue;
            if (Fit(degree, ofLog, points, values, outside) is { } model && !model.Lacks(within, levels))
                return model;
        }

        return null;
    }

    /// <summary>The curve's value and its standard uncertainty, times the quantile for a 95 % interval.</summary>
    public (double Log, double Half) At(double value)
    {
        (double log, double u) = _fit.At(Row(value, _degree, _ofLog, _middle, _half));
        return (log, _t * u);
    }

    /// <summary>Whether the curve may be level there: its slope's 95 % interval holds zero (Fieller's construction for a quadratic).</summary>
    public bool MayBeLevel(double value)
    {
        double x = Scaled(value, _ofLog, _middle, _half);
        (double slope, double u) = _fit.At(Vector<double>.Build.Dense(_degree + 1, k => k == 0 ? 0 : k * Math.Pow(x, k - 1)));
        return Math.Abs(slope) <= _t * u;
    }

    private static FactorModel? Fit(int degree, bool ofLog, IReadOnlyList<FactorPoint> points, double[] values, Repeatability outside)
    {
        (double middle, double half) = Frame(values, ofLog);
        var design = Matrix<double>.Build.DenseOfRowVectors(values.Select(v => Row(v, degree, ofLog, middle, half)));
        Vector<double> logs = Vector<double>.Build.Dense([.. points.Select(p => p.Time.Value)]);
        bool own = values.Length > degree + 1;
        double? known = own ? null : outside.IsKnown ? outside.Variance : 0;
        if (LinearModel.Fit(design, logs, known) is not { } fit)
            return null;
        return new FactorModel(degree, ofLog, values, fit, own ? fit.DegreesOfFreedom : outside.IsKnown ? outside.DegreesOfFreedom : double.PositiveInfinity);
    }

    private bool Lacks(Anova within, int levels)
    {
        int spare = levels - _degree - 1;
        if (spare < 1 || within.DegreesWithin < 1 || !(within.Within > 0))
            return false;
        double f = Math.Max(0, _fit.ResidualSquares - within.Within) / spare / (within.Within / within.DegreesWithin);
        return 1 - FisherSnedecor.CDF(spare, within.DegreesWithin, f) < LackLevel;
    }

    // About −1 to 1, so that powers can be told apart.
    private static (double Middle, double Half) Frame(double[] values, bool ofLog)
    {
        (double low, double high) = ofLog ? (Math.Log(values.Min()), Math.Log(values.Max())) : (values.Min(), values.Max());
        return (0.5 * (low + high), 0.5 * (high - low));
    }

    private static double Scaled(double value, bool ofLog, double middle, double half) => ((ofLog ? Math.Log(value) : value) - middle) / half;

    private static Vector<double> Row(double value, int degree, bool ofLog, double middle, double half)
    {
        double x = Scaled(value, ofLog, middle, half);
        return Vector<double>.Build.Dense(degree + 1, k => Math.Pow(x, k));
    }
}
