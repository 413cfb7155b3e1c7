using Acquire.Results.Statistics;

namespace Acquire.Results.Comparison;

/// <summary>What an interval rests on.</summary>
public enum ChangeBasis
{
    /// <summary>The scatter of the runs compared.</summary>
    OwnScatter,

    /// <summary>The library's repeatability, since a group has one run only.</summary>
    LibraryScatter,

    /// <summary>No repeatability is known: there is no interval, only what the measurement itself leaves open.</summary>
    MeasurementOnly,
}

/// <summary>By how much a time differs between two groups of runs.</summary>
/// <param name="Baseline">Runs of the baseline.</param>
/// <param name="Variant">Runs of the variant.</param>
/// <param name="Basis">What uncertainty and interval rest on.</param>
/// <param name="Logs">The difference of the mean logarithms.</param>
public sealed record Change(int Baseline, int Variant, ChangeBasis Basis, MeanDifference Logs)
{
    /// <summary>Share of the cases in which an interval is to hold the truth.</summary>
    public const double Level = 0.95;

    /// <summary>The change in percent.</summary>
    public double Percent => LogTime.Percent(Logs.Difference);

    /// <summary>Lower end of its 95 % interval; NaN where no repeatability is known.</summary>
    public double LowPercent => HasInterval ? LogTime.Percent(Logs.Difference - Logs.HalfWidth(Level)) : double.NaN;

    /// <summary>Upper end of its 95 % interval; NaN where no repeatability is known.</summary>
    public double HighPercent => HasInterval ? LogTime.Percent(Logs.Difference + Logs.HalfWidth(Level)) : double.NaN;

    /// <summary>Two-sided probability of so large a change by chance; NaN where no repeatability is known.</summary>
    public double P => HasInterval ? Logs.P : double.NaN;

    /// <summary>Standard uncertainty in percent points, of the change's own size.</summary>
    public double UPercent => 100 * Math.Exp(Logs.Difference) * Logs.U;

    /// <summary>Whether there is an interval.</summary>
    public bool HasInterval => Basis != ChangeBasis.MeasurementOnly;

    /// <summary>Whether it is a change at the 5 % level.</summary>
    public bool IsShown => P < 1 - Level;

    /// <summary>Finds it by Welch's test on the logarithms, or by the library's repeatability where a group has one run; null where a group has
    /// none. The variance of a mean is never less than the measurement's own.</summary>
    public static Change? Of(IEnumerable<LogTime> baseline, IEnumerable<LogTime> variant, Repeatability library)
    {
        LogTime[] first = [.. baseline.Where(t => t.IsKnown)];
        LogTime[] second = [.. variant.Where(t => t.IsKnown)];
        if (first.Length == 0 || second.Length == 0)
            return null;
        (Sample a, Sample b) = (Values(first), Values(second));
        (double ua, double ub) = (Least(first), Least(second));
        if (a.Count > 1 && b.Count > 1)
            return new Change(a.Count, b.Count, ChangeBasis.OwnScatter, MeanDifference.Welch(a, b, ua, ub));
        if (library.IsKnown)
            return new Change(a.Count, b.Count, ChangeBasis.LibraryScatter, MeanDifference.Pooled(a, b, library, ua + ub));
        return new Change(
            a.Count, b.Count, ChangeBasis.MeasurementOnly, new MeanDifference(b.Mean - a.Mean, Math.Sqrt(ua + ub), double.PositiveInfinity));
    }

    private static Sample Values(LogTime[] times) => Sample.Of([.. times.Select(t => t.Value)]);

    private static double Least(LogTime[] times) => times.Sum(t => t.U * t.U) / ((double)times.Length * times.Length);
}
