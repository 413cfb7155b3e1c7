namespace Acquire.Results.Statistics;

/// <summary>Probabilities of several tests at once, so that the chance of any false finding stays at the level (Holm 1979, Scandinavian Journal of
/// Statistics 6, 65).</summary>
public static class HolmAdjustment
{
    /// <summary>The adjusted probabilities, in the order given; NaN stays and counts for nothing.</summary>
    public static double[] Of(IReadOnlyList<double> p)
    {
        int[] order = [.. Enumerable.Range(0, p.Count).Where(i => !double.IsNaN(p[i])).OrderBy(i => p[i])];
        double[] adjusted = [.. p];
        double least = 0;
        for (int i = 0; i < order.Length; i++)
        {
            least = Math.Max(least, Math.Min(1, (order.Length - i) * p[order[i]]));
            adjusted[order[i]] = least;
        }

        return adjusted;
    }
}
