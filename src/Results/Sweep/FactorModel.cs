using Acquire.Results.Statistics;
using MathNet.Numerics.Distributions;
using MathNet.Numerics.LinearAlgebra;

namespace Acquire.Results.Sweep;

/// <summary>The logarithm of the decay time as a polynomial of a factor or of its logarithm.</summary>
internal sealed class FactorModel
{
    private const double LackLevel = 0.05;
    private const double NearlyAsClose = 2;
    private static readonly int[] Degrees = [2, 3];
    private static readonly bool[] OfLogOrNot = [false, true];
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

    /// <summary>Finds those that fit best: quadratics in the factor and in its logarithm; where the levels lie off both by more than repeats do, cubics. The
    /// first is the closest; others that are nearly as close (by the likelihood, as 2 in its logarithm's double) follow it. None where none fits
    /// or there are fewer than three levels.</summary>
    /// <param name="points">The runs.</param>
    /// <param name="outside">A scatter known from elsewhere, for runs that leave none over.</param>
    public static IReadOnlyList<FactorModel> Choose(IReadOnlyList<FactorPoint> points, Repeatability outside)
    {
        double[] values = [.. points.Select(p => p.Value)];
        int levels = values.Distinct().Count();
        Anova within = Anova.Of([.. points.GroupBy(p => p.Value, p => p.Time.Value).Select(g => (IReadOnlyCollection<double>)[.. g])]);
        foreach (int degree in Degrees)
        {
            if (levels < (degree == 2 ? 3 : 5))
                break;
            FactorModel[] fitting = [.. OfLogOrNot.Where(ofLog => !ofLog || values.Min() > 0)
                .Select(ofLog => Fit(degree, ofLog, points, values, outside)).OfType<FactorModel>()
                .Where(m => !m.Lacks(within, levels)).OrderBy(m => levels == degree + 1 ? 0 : m._fit.ResidualSquares)];
            if (fitting.Length > 0)
                return levels == degree + 1 ? fitting : [.. fitting.Where(m => points.Count * Math.Log(m._fit.ResidualSquares / fitting[0]._fit.ResidualSquares) <= NearlyAsClose)];
        }

        return [];
    }

    /// <summary>The curve's value and its standard uncertainty, times the quantile for a 95 % interval.</summary>
    public (double Log, double Half) At(double value)
    {
        (double log, double u) = _fit.At(Row(value, _degree, _ofLog, _middle, _half));
        return (log, _t * u);
    }

    /// <summary>Where it is highest among rising values, and between which of them its slope may be none.</summary>
    public (int Low, int Best, int High) Highest(double[] values)
    {
        double[] logs = [.. values.Select(v => At(v).Log)];
        int best = Array.IndexOf(logs, logs.Max());
        (int low, int high) = (best, best);
        while (low > 0 && MayBeLevel(values[low - 1]))
            low--;
        while (high < values.Length - 1 && MayBeLevel(values[high + 1]))
            high++;
        return (low, best, high);
    }

    // Whether the curve may be level there: its slope's 95 % interval holds zero (Fieller's construction for a quadratic).
    private bool MayBeLevel(double value)
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
