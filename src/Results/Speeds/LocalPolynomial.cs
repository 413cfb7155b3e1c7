using MathNet.Numerics.Distributions;
using MathNet.Numerics.LinearAlgebra;

namespace Acquire.Results.Speeds;

/// <summary>A polynomial through the samples near one moment, the nearer the weightier (tricube weights; Cleveland, J. Am. Stat. Assoc. 74 (1979) 829).</summary>
/// <param name="Value">Its value at that moment.</param>
/// <param name="Slope">Its slope there, per second.</param>
/// <param name="UValue">Standard uncertainty of the value for independent noise.</param>
/// <param name="USlope">The same of the slope.</param>
/// <param name="NoiseVariance">Variance of one sample about it; NaN where there are no samples to spare.</param>
/// <param name="Freedom">Degrees of freedom that the variance rests on.</param>
/// <param name="Leverage">Weight that a sample at the very moment has in the value there.</param>
/// <param name="Gain">Variance of the value over that of a sample.</param>
internal readonly record struct LocalPolynomial(double Value, double Slope, double UValue, double USlope, double NoiseVariance, double Freedom, double Leverage, double Gain)
{
    private const int MostTerms = 6;

    /// <summary>Fits the samples from <paramref name="from"/> on, before <paramref name="to"/>.</summary>
    /// <param name="timeS">Times, rising.</param>
    /// <param name="value">Values.</param>
    /// <param name="from">Index of the first sample.</param>
    /// <param name="to">Index after the last; two samples or more.</param>
    /// <param name="atS">The moment.</param>
    /// <param name="halfS">Samples so far away have no weight.</param>
    /// <param name="most">Terms of the polynomial, up to 6; fewer where there are few samples.</param>
    /// <param name="noise">Variance of a sample to state uncertainties with; NaN to take its own.</param>
    public static LocalPolynomial Fit(double[] timeS, double[] value, int from, int to, double atS, double halfS, int most, double noise)
    {
        return Fit(timeS, value, from, to, (to, to), atS, halfS, most, noise);
    }

    /// <summary>The same without the samples of a stretch.</summary>
    public static LocalPolynomial Fit(
        double[] timeS, double[] value, int from, int to, (int From, int To) without, double atS, double halfS, int most, double noise)
    {
        int samples = to - from - (Math.Min(to, without.To) - Math.Max(from, without.From));
        int terms = Math.Clamp(samples - 2, 1, Math.Min(most, MostTerms));
        double origin = value[from];
        Span<double> moments = stackalloc double[(2 * MostTerms) - 1];
        Span<double> squares = stackalloc double[(2 * MostTerms) - 1];
        Span<double> right = stackalloc double[MostTerms];
        moments.Clear();
        squares.Clear();
        right.Clear();
        for (int i = from; i < to; i++)
        {
            if (i >= without.From && i < without.To)
                continue;
            double x = (timeS[i] - atS) / halfS;
            double w = Weight(x);
            double y = value[i] - origin;
            double power = w;
            for (int k = 0; k < (2 * terms) - 1; k++, power *= x)
            {
                moments[k] += power;
                squares[k] += w * power;
                if (k < terms)
                    right[k] += power * y;
            }
        }

        double sum = moments[0];
        Matrix<double> design = Hankel(moments, terms);
        Matrix<double> spread = Hankel(squares, terms);
        Matrix<double> inverse = design.Inverse();
        Vector<double> fit = inverse * Vector<double>.Build.DenseOfArray(right[..terms].ToArray());
        Matrix<double> covariance = inverse * spread * inverse;
        double freedom = sum - (inverse * spread).Trace();
        double own = freedom > 1e-6 ? Residuals(timeS, value, from, to, atS, halfS, fit, origin) / freedom : double.NaN;
        double variance = double.IsNaN(noise) ? own : noise;
        return new LocalPolynomial(
            fit[0] + origin, terms > 1 ? fit[1] / halfS : double.NaN, Math.Sqrt(variance * covariance[0, 0]),
            terms > 1 ? Math.Sqrt(variance * covariance[1, 1]) / halfS : double.NaN, own, freedom, inverse[0, 0], covariance[0, 0]);
    }

    /// <summary>By how much ±1.96 u must be widened to hold 95 % where the noise is known from so many degrees of freedom.</summary>
    public static double Widening(double freedom) => StudentT.InvCDF(0, 1, Math.Max(1, freedom), 0.975) / Normal.InvCDF(0, 1, 0.975);

    private static Matrix<double> Hankel(ReadOnlySpan<double> moments, int terms)
    {
        var matrix = Matrix<double>.Build.Dense(terms, terms);
        for (int r = 0; r < terms; r++)
        {
            for (int c = 0; c < terms; c++)
                matrix[r, c] = moments[r + c];
        }

        return matrix;
    }

    private static double Residuals(double[] timeS, double[] value, int from, int to, double atS, double halfS, Vector<double> fit, double origin)
    {
        double sum = 0;
        for (int i = from; i < to; i++)
        {
            double x = (timeS[i] - atS) / halfS;
            double y = 0;
            for (int k = fit.Count - 1; k >= 0; k--)
                y = (y * x) + fit[k];
            double r = value[i] - origin - y;
            sum += Weight(x) * r * r;
        }

        return sum;
    }

    private static double Weight(double x)
    {
        double far = Math.Min(Math.Abs(x), 1);
        double rest = 1 - (far * far * far);
        return rest * rest * rest;
    }
}
