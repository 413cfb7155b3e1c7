namespace Acquire.Results.Losses;

/// <summary>The long-run variance of a series: what a slow drift in residuals, or a wobble, leaves in sums over it.</summary>
/// <remarks>The mean of the squares of the series' first cosine transforms, with equal weights (Lazarus, Lewis, Stock and Watson, "HAR
/// Inference: Recommendations for Practice", Journal of Business and Economic Statistics 36 (2018) 541; from memory). It is chi-squared with
/// as many degrees of freedom as cosines where the series is long.</remarks>
internal static class LongRun
{
    private const double Share = 0.4;         // cosines: 0.4 n^(2/3), the recommendation
    private const int Fewest = 8;
    private const int LostByOne = 2;           // waves that a parameter takes out of what is left, about

    /// <summary>How many cosines for a series of <paramref name="count"/>.</summary>
    public static int Cosines(int count) => Math.Clamp((int)(Share * Math.Pow(count, 2.0 / 3)), Fewest, Math.Max(Fewest, count / 4));

    /// <summary>The long-run variance.</summary>
    /// <param name="series">The series, with mean 0.</param>
    /// <param name="lost">Parameters fitted to the same data: they took the slowest waves out of it.</param>
    public static double Variance(double[] series, int lost)
    {
        int n = series.Length;
        int cosines = Cosines(n);
        double sum = 0;
        for (int j = 1; j <= cosines; j++)
        {
            double step = Math.PI * j / n;
            double transform = 0;
            for (int i = 0; i < n; i++)
                transform += Math.Cos(step * (i + 0.5)) * series[i];
            sum += 2 * transform * transform / n;
        }

        return sum / Math.Max(0.5 * cosines, cosines - (LostByOne * lost));
    }
}
