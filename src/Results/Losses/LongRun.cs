namespace Acquire.Results.Losses;

/// <summary>The long-run variance of a series: what a slow drift in residuals, or a wobble, leaves in sums over it.</summary>
/// <remarks>The mean of the squares of the series' first cosine transforms, with equal weights (Lazarus, Lewis, Stock and Watson, "HAR
/// Inference: Recommendations for Practice", Journal of Business and Economic Statistics 36 (2018) 541; from memory). It is chi-squared with
/// as many degrees of freedom as cosines where the series is long.</remarks>
internal static class LongRun
{
    private const double Share = 0.4;          // cosines: 0.4 n^(2/3), the recommendation
    private const int Fewest = 8;

    /// <summary>How many cosines for a series of <paramref name="count"/>.</summary>
    public static int Cosines(int count) => Math.Clamp((int)(Share * Math.Pow(count, 2.0 / 3)), Fewest, Math.Max(Fewest, count / 4));

    /// <summary>Covariance of the sums of several series over their common length.</summary>
    /// <param name="series">The series, of one length, each with mean 0.</param>
    /// <param name="lost">Parameters fitted to the same data: they took as many of the slowest waves out of it.</param>
    public static double[,] OfSums(double[][] series, int lost)
    {
        int n = series[0].Length;
        int cosines = Cosines(n);
        int m = series.Length;
        double[,] sum = new double[m, m];
        double[] transform = new double[m];
        for (int j = 1; j <= cosines; j++)
        {
            Array.Clear(transform);
            double step = Math.PI * j / n;
            for (int i = 0; i < n; i++)
            {
                double wave = Math.Cos(step * (i + 0.5));
                for (int k = 0; k < m; k++)
                    transform[k] += wave * series[k][i];
            }

            for (int a = 0; a < m; a++)
            {
                for (int b = 0; b < m; b++)
                    sum[a, b] += 2 * transform[a] * transform[b] / Math.Max(1, cosines - lost);
            }
        }

        return sum;
    }
}
