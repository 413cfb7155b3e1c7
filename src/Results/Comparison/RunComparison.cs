using Acquire.Results.Statistics;

namespace Acquire.Results.Comparison;

/// <summary>A group of runs.</summary>
/// <param name="Name">What it is called.</param>
/// <param name="Runs">Its runs.</param>
public sealed record RunGroup(string Name, IReadOnlyList<TimedRun> Runs);

/// <summary>The change in a band of speed.</summary>
/// <param name="FromRpm">The higher speed.</param>
/// <param name="ToRpm">The lower speed.</param>
/// <param name="Change">The change; null where a group was not seen at both speeds.</param>
/// <param name="AdjustedP">Its probability with regard to the number of bands (Holm); NaN where none is known.</param>
public sealed record BandChange(double FromRpm, double ToRpm, Change? Change, double AdjustedP)
{
    /// <summary>Whether it is a change at the 5 % level with regard to the number of bands.</summary>
    public bool IsShown => AdjustedP < 1 - Comparison.Change.Level;
}

/// <summary>A variant beside the baseline.</summary>
/// <param name="Name">What it is called.</param>
/// <param name="Runs">Its runs that count.</param>
/// <param name="Change">The change of the decay time.</param>
public sealed record VariantResult(string Name, IReadOnlyList<TimedRun> Runs, Change Change)
{
    /// <summary>The permutation test beside it; null where a group has one run.</summary>
    public PermutationTest? Permutation { get; init; }

    /// <summary>Its probability with regard to the number of variants (Holm).</summary>
    public double AdjustedP { get; init; }

    /// <summary>The change with the interval that the library's repeatability gives; null where none is known.</summary>
    public Change? ByLibrary { get; init; }

    /// <summary>The change by band, the fastest first.</summary>
    public required IReadOnlyList<BandChange> Bands { get; init; }

    /// <summary>The change of the whole spin; null where the runs were not seen over enough speeds.</summary>
    public WholeSpin? WholeSpin { get; init; }

    /// <summary>The smallest change that these runs could have shown (level 5 %, with a probability of 80 %), percent; NaN where no repeatability
    /// is known.</summary>
    public double SmallestShownPercent { get; init; }

    /// <summary>Runs that each group needs to show the change seen (5 %, 80 %); null where that is more than can be looked for.</summary>
    public int? RunsNeeded { get; init; }

    /// <summary>The change without the correction for air; null where none was made.</summary>
    public double? PercentBeforeAir { get; init; }

    /// <summary>What else could have made the difference.</summary>
    public required IReadOnlyList<string> Warnings { get; init; }
}

/// <summary>Variants beside a baseline.</summary>
/// <param name="FromRpm">The higher speed.</param>
/// <param name="ToRpm">The lower speed.</param>
/// <param name="Baseline">The baseline's runs that count.</param>
/// <param name="Variants">The variants, in the order asked for.</param>
/// <param name="Scatter">The library's repeatability between the two speeds.</param>
/// <param name="LeftOut">Runs that do not count, with the reason.</param>
/// <param name="Outlying">Runs that count though they lie far off, with how far.</param>
/// <param name="Notes">What else is to be said of single runs.</param>
public sealed record RunComparison(
    double FromRpm, double ToRpm, IReadOnlyList<TimedRun> Baseline, IReadOnlyList<VariantResult> Variants, Repeatability Scatter,
    IReadOnlyList<(string Run, string Why)> LeftOut, IReadOnlyList<(string Run, string Why)> Outlying, IReadOnlyList<string> Notes)
{
    /// <summary>Whether decay times were brought to reference air.</summary>
    public bool InReferenceAir => Variants.Any(v => v.PercentBeforeAir is not null);
}
