namespace Acquire.Results.Statistics;

/// <summary>The moments of a few numbers.</summary>
/// <param name="Count">How many.</param>
/// <param name="Mean">Their mean; NaN of none.</param>
/// <param name="Variance">Their variance, with one less than their number below; NaN of fewer than two.</param>
public readonly record struct Sample(int Count, double Mean, double Variance)
{
    /// <summary>Standard deviation.</summary>
    public double Sd => Math.Sqrt(Variance);

    /// <summary>Finds them in two passes, so that numbers that differ in their last digits only lose none.</summary>
    public static Sample Of(IReadOnlyCollection<double> values)
    {
        ArgumentNullException.ThrowIfNull(values);
        int n = values.Count;
        if (n == 0)
            return new Sample(0, double.NaN, double.NaN);
        double about = values.Sum() / n;
        double mean = about + (values.Sum(v => v - about) / n);
        double squares = values.Sum(v => (v - mean) * (v - mean));
        double rest = values.Sum(v => v - mean);
        return new Sample(n, mean, n < 2 ? double.NaN : (squares - (rest * rest / n)) / (n - 1));
    }
}
