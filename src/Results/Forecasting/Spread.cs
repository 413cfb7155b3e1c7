namespace Acquire.Results.Forecasting;

/// <summary>A figure with the interval that holds it in 95 of 100 cases.</summary>
/// <param name="Median">As likely above as below.</param>
/// <param name="Low">2.5 of 100 lie below.</param>
/// <param name="High">2.5 of 100 lie above.</param>
public readonly record struct Spread(double Median, double Low, double High)
{
    /// <summary>Of values that are each as likely as another.</summary>
    public static Spread Of(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return new Spread(At(sorted, 0.5), At(sorted, 0.025), At(sorted, 0.975));
    }

    // Each value stands in the middle of its share.
    private static double At(double[] sorted, double share)
    {
        double place = Math.Clamp((share * sorted.Length) - 0.5, 0, sorted.Length - 1);
        int i = (int)place;
        return i + 1 < sorted.Length ? sorted[i] + ((place - i) * (sorted[i + 1] - sorted[i])) : sorted[i];
    }
}
