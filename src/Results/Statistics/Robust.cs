namespace Acquire.Results.Statistics;

/// <summary>Location and scatter that a few wild values do not move.</summary>
public static class Robust
{
    /// <summary>Beyond this a modified z is flagged (Iglewicz &amp; Hoaglin 1993, from memory).</summary>
    public const double FlagBeyond = 3.5;

    private const double QuartileOfNormal = 0.6745; // as they state it
    private const double ToSd = 1.4826; // 1 over it

    /// <summary>The middle value.</summary>
    public static double Median(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        int n = sorted.Length;
        return n == 0 ? double.NaN : n % 2 == 1 ? sorted[n / 2] : 0.5 * (sorted[(n / 2) - 1] + sorted[n / 2]);
    }

    /// <summary>The median distance from the median, scaled so that it estimates a normal's standard deviation.</summary>
    public static double ScaledMad(IReadOnlyCollection<double> values)
    {
        double median = Median(values);
        return ToSd * Median(values.Select(v => Math.Abs(v - median)));
    }

    /// <summary>Modified z of each value: 0.6745 of its distance from the median over the median distance; zero where that is zero and the
    /// value is the median, infinite where it is not.</summary>
    public static double[] ModifiedZ(IReadOnlyCollection<double> values)
    {
        double median = Median(values);
        double mad = Median(values.Select(v => Math.Abs(v - median)));
        return [.. values.Select(v => v == median ? 0 : QuartileOfNormal * (v - median) / mad)];
    }
}
