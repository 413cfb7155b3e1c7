using MathNet.Numerics.Distributions;

namespace Acquire.Results.Statistics;

/// <summary>A difference of two means with what is known of it.</summary>
/// <param name="Difference">The second mean less the first.</param>
/// <param name="U">Its standard uncertainty.</param>
/// <param name="DegreesOfFreedom">What the uncertainty rests on; infinite where it is known from elsewhere.</param>
public readonly record struct MeanDifference(double Difference, double U, double DegreesOfFreedom)
{
    /// <summary>Student's t of the difference against none.</summary>
    public double T => Difference / U;

    /// <summary>Two-sided probability of a difference as large as this where there is none. Zero uncertainty makes any difference certain.</summary>
    public double P => U > 0 ? 2 * Student.Below(-Math.Abs(T), DegreesOfFreedom) : Difference == 0 ? 1 : 0;

    /// <summary>Half the width of its interval.</summary>
    /// <param name="level">Share of the cases in which the interval is to hold the truth, as 0.95.</param>
    public double HalfWidth(double level) => U * Student.Quantile(0.5 + (level / 2), DegreesOfFreedom);

    /// <summary>Welch's: two groups with variances of their own (Welch 1947, Biometrika 34, 28; degrees of freedom after Satterthwaite
    /// 1946).</summary>
    /// <param name="first">The first group, of two or more.</param>
    /// <param name="second">The second, of two or more.</param>
    /// <param name="leastFirst">What the variance of the first mean is at the least, known from elsewhere.</param>
    /// <param name="leastSecond">The same of the second.</param>
    public static MeanDifference Welch(Sample first, Sample second, double leastFirst = 0, double leastSecond = 0)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(first.Count, 2);
        ArgumentOutOfRangeException.ThrowIfLessThan(second.Count, 2);
        (double a, double fa) = Of(first, leastFirst);
        (double b, double fb) = Of(second, leastSecond);
        double sum = a + b;
        double below = Share(a, fa) + Share(b, fb);
        double degrees = below > 0 ? sum * sum / below : sum > 0 ? double.PositiveInfinity : first.Count + second.Count - 2;
        return new MeanDifference(second.Mean - first.Mean, Math.Sqrt(sum), degrees);

        static (double Variance, double Degrees) Of(Sample s, double least) =>
            s.Variance / s.Count >= least ? (s.Variance / s.Count, s.Count - 1) : (least, double.PositiveInfinity);
        static double Share(double variance, double degrees) => double.IsInfinity(degrees) ? 0 : variance * variance / degrees;
    }

    /// <summary>Two groups whose runs scatter alike, by a scatter that is known from these and other groups.</summary>
    /// <param name="first">The first group, of one or more.</param>
    /// <param name="second">The second, of one or more.</param>
    /// <param name="scatter">The scatter within groups.</param>
    /// <param name="least">What the variance of the difference is at the least.</param>
    public static MeanDifference Pooled(Sample first, Sample second, Repeatability scatter, double least = 0)
    {
        double variance = scatter.Variance * ((1.0 / first.Count) + (1.0 / second.Count));
        return variance >= least
            ? new MeanDifference(second.Mean - first.Mean, Math.Sqrt(variance), scatter.DegreesOfFreedom)
            : new MeanDifference(second.Mean - first.Mean, Math.Sqrt(least), double.PositiveInfinity);
    }
}

/// <summary>Student's distribution, the normal where its degrees of freedom are without end.</summary>
public static class Student
{
    /// <summary>Probability of less than <paramref name="t"/>.</summary>
    public static double Below(double t, double degreesOfFreedom) =>
        double.IsInfinity(degreesOfFreedom) ? Normal.CDF(0, 1, t) : StudentT.CDF(0, 1, degreesOfFreedom, t);

    /// <summary>The value below which a share of the cases lies.</summary>
    public static double Quantile(double share, double degreesOfFreedom) =>
        double.IsInfinity(degreesOfFreedom) ? Normal.InvCDF(0, 1, share) : StudentT.InvCDF(0, 1, degreesOfFreedom, share);
}
