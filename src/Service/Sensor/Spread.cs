namespace Acquire.Service.Sensor;

/// <summary>Middle and spread of a few numbers, such that single ones far off do not matter.</summary>
internal static class Spread
{
    private const double MiddleShare = 0.6827; // as much as ±1 standard deviation of a normal distribution holds

    /// <summary>The value below which a share of the values lies; NaN for none.</summary>
    internal static double Quantile(IEnumerable<double> values, double share)
    {
        double[] sorted = [.. values.Order()];
        if (sorted.Length == 0)
            return double.NaN;
        double at = share * (sorted.Length - 1);
        int below = (int)at;
        int above = Math.Min(below + 1, sorted.Length - 1);
        return sorted[below] + ((at - below) * (sorted[above] - sorted[below]));
    }

    /// <summary>The median, and half the range of the middle 68 % as a share of it.</summary>
    internal static (double Median, double Share) Of(IReadOnlyCollection<double> values)
    {
        double median = Quantile(values, 0.5);
        double half = (Quantile(values, (1 + MiddleShare) / 2) - Quantile(values, (1 - MiddleShare) / 2)) / 2;
        return (median, half / median);
    }

    /// <summary>The size that 68 % of the values stay below.</summary>
    internal static double Size(IEnumerable<double> values) => Quantile(values.Select(Math.Abs), MiddleShare);
}
