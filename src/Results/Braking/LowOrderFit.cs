using Acquire.Results.Statistics;
using MathNet.Numerics.LinearAlgebra;
using MathNet.Numerics.LinearAlgebra.Factorization;

namespace Acquire.Results.Braking;

/// <summary>How a reading scatters about its curve.</summary>
/// <param name="Sd">Standard deviation: W where noise is constant, else a share of the power.</param>
/// <param name="Freedom">Degrees of freedom that it rests on.</param>
public readonly record struct BenchScatter(double Sd, int Freedom)
{
    /// <summary>That of all curves together; null where one scatters otherwise than the rest by an F test at 1 %.</summary>
    internal static BenchScatter? Pooled(IReadOnlyCollection<LowOrderFit> fits)
    {
        const double Level = 0.01;
        int freedom = fits.Sum(f => f.Freedom);
        double squares = fits.Sum(f => f.ResidualSquares);
        double Apart(LowOrderFit fit)
        {
            int rest = freedom - fit.Freedom;
            double ratio = fit.ResidualSquares / fit.Freedom / ((squares - fit.ResidualSquares) / rest);
            double below = MathNet.Numerics.Distributions.FisherSnedecor.CDF(fit.Freedom, rest, ratio);
            return 2 * Math.Min(below, 1 - below);
        }

        return fits.Count > 1 && fits.Any(f => Apart(f) < Level / fits.Count) ? null : new BenchScatter(Math.Sqrt(squares / freedom), freedom);
    }
}

/// <summary>A curve of few coefficients through readings, their number chosen by the readings (by mean distance and Akaike's criterion corrected for few
/// values: Hurvich and Tsai 1989, Biometrika 76, 297; from memory); readings far from it are flagged and have no part in it.</summary>
/// <remarks>Flagged is a reading whose modified z is beyond 3.5 (Iglewicz and Hoaglin 1993; from memory): 0.6745 of its distance from the curve of least
/// absolute deviations over the median distance, which is widened by 1 + 5/(n − p), since a curve lies nearer to the few values that
/// made it (Rousseeuw and Leroy 1987, Robust Regression and Outlier Detection; from memory); and which the curve of those kept would not
/// bear as a new reading once in a thousand.</remarks>
internal sealed class LowOrderFit
{
    private const int FewestToFlag = 4; // readings beyond the coefficients
    private const double QuartileOfNormal = 0.6745;
    private readonly Matrix<double> _spread;

    private LowOrderFit(BenchData data, bool[] flagged, int count)
    {
        (Data, Flagged) = (data, flagged);
        (Matrix<double> design, Vector<double> values) = data.Rows(count, flagged);
        var qr = design.QR(QRMethod.Thin);
        Matrix<double> inverse = qr.R.Inverse();
        Coefficients = qr.Solve(values);
        Solver = inverse * qr.Q.Transpose();
        ResidualSquares = (values - (design * Coefficients)).PointwisePower(2).Sum();
        Freedom = design.RowCount - design.ColumnCount;
        _spread = inverse * inverse.Transpose();
        Scatter = new BenchScatter(Math.Sqrt(ResidualSquares / Freedom), Freedom);
    }

    /// <summary>What it was fitted to.</summary>
    public BenchData Data { get; }

    /// <summary>Coefficients of what <see cref="BenchData.Powers"/> has.</summary>
    public Vector<double> Coefficients { get; }

    /// <summary>Their covariance.</summary>
    public Matrix<double> Covariance => _spread * (Scatter.Sd * Scatter.Sd);

    /// <summary>What makes the coefficients of the values kept, each over its spread.</summary>
    public Matrix<double> Solver { get; }

    /// <summary>The readings far from the curve.</summary>
    public bool[] Flagged { get; }

    /// <summary>Readings kept less coefficients.</summary>
    public int Freedom { get; }

    /// <summary>How a reading scatters, over its spread: by these readings, unless all of the bench tell it.</summary>
    public BenchScatter Scatter { get; set; }

    /// <summary>Sum of the squared distances of the readings kept, each over its spread.</summary>
    public double ResidualSquares { get; }

    /// <summary>Fits.</summary>
    /// <param name="data">The readings.</param>
    /// <param name="count">How many coefficients; fewer where the readings do not bear as many.</param>
    /// <returns>Null where the readings are too few or at too few speeds.</returns>
    public static LowOrderFit? Of(BenchData data, int count)
    {
        bool[] flagged = data.Held;
        int p = Math.Min(count, data.MostCoefficients(flagged));
        if (p < 1)
            return null;
        if (Kept(flagged) - p >= FewestToFlag)
            flagged = Back(data, Flag(data, p), p);
        p = Math.Min(p, data.MostCoefficients(flagged));
        return p < 1 ? null : new LowOrderFit(data, flagged, p);
    }

    /// <summary>How many coefficients several sets of readings bear alike.</summary>
    /// <param name="sets">The readings.</param>
    /// <param name="least">The fewest.</param>
    /// <param name="most">The most.</param>
    public static int CountOf(IReadOnlyList<BenchData> sets, int least, int most)
    {
        const double WorthIt = 10; // a coefficient more must be well worth it: what is chosen for its small residuals states them too small
        int count = least;
        double best = double.PositiveInfinity;
        for (int p = least; p <= most; p++)
        {
            double now = 0;
            foreach (BenchData data in sets)
            {
                int can = Math.Min(p, data.MostCoefficients(data.Held));
                int n = Kept(data.Held);
                if (can < 1)
                    continue;
                now += n - can - 2 <= 0 ? double.PositiveInfinity
                    : (2 * n * Math.Log(data.LeastDeviations(can).Average(Math.Abs))) + (2.0 * (can + 1)) + (2.0 * (can + 1) * (can + 2) / (n - can - 2));
            }

            if (now < best - (p > least ? WorthIt : 0))
                (count, best) = (p, now);
        }

        return count;
    }

    private static bool[] Flag(BenchData data, int p)
    {
        double[] deviations = data.LeastDeviations(p);
        double typical = Robust.Median(deviations.Select(Math.Abs)) * (1 + (5.0 / (deviations.Length - p)));
        bool[] flags = [.. data.Held];
        int k = 0;
        for (int i = 0; i < flags.Length; i++)
        {
            if (!flags[i])
                flags[i] = QuartileOfNormal * Math.Abs(deviations[k++]) > Robust.FlagBeyond * typical;
        }

        return flags;
    }

    // Of few readings the median distance is a poor measure: what the curve of those kept could bear is no stray.
    private static bool[] Back(BenchData data, bool[] flags, int p)
    {
        const double Bears = 0.999;
        int can = Math.Min(p, data.MostCoefficients(flags));
        if (can < 1)
            return flags;
        var kept = new LowOrderFit(data, flags, can);
        double most = Student.Quantile(0.5 + (Bears / 2), kept.Freedom);
        return [.. flags.Select((f, i) =>
        {
            (double value, double u) = kept.At(data.X[i]);
            return f && (data.Held[i] || Math.Abs(data.Y[i] - value) > most * Math.Sqrt((u * u) + Math.Pow(kept.Scatter.Sd * data.Spread[i], 2)));
        })];
    }

    /// <summary>The powers of a speed.</summary>
    public Vector<double> Powers(double x) => Data.Powers(x, Coefficients.Count);

    /// <summary>The value at a speed and its standard uncertainty.</summary>
    public (double Value, double U) At(double x)
    {
        Vector<double> powers = Powers(x);
        return (powers.DotProduct(Coefficients), Math.Sqrt(Math.Max(0, powers.DotProduct(Covariance * powers))));
    }

    private static int Kept(bool[] flagged) => flagged.Count(f => !f);
}
