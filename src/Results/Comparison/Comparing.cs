using System.Globalization;
using Acquire.Results.Statistics;

namespace Acquire.Results.Comparison;

/// <summary>Compares groups of runs between two speeds.</summary>
/// <param name="FromRpm">The higher speed.</param>
/// <param name="ToRpm">The lower speed.</param>
/// <param name="StartRpm">Where the whole spin begins; the median peak speed of the runs where null.</param>
/// <param name="Library">All runs that tell how runs of one set-up scatter.</param>
public sealed record Comparing(double FromRpm, double ToRpm, double? StartRpm, IReadOnlyList<TimedRun> Library)
{
    /// <summary>Compares.</summary>
    /// <param name="baseline">What is compared with.</param>
    /// <param name="variants">What is compared.</param>
    /// <param name="problem">Why there is no answer, for people.</param>
    /// <returns>Null where a group has no run left.</returns>
    public RunComparison? Compare(RunGroup baseline, IReadOnlyList<RunGroup> variants, out string? problem)
    {
        // Brought to reference air is all of it or nothing: a mixture would differ by the correction itself.
        if (variants.Append(baseline).SelectMany(g => g.Runs).Any(r => r.Air is null))
            (baseline, variants) = (WithoutAir(baseline), [.. variants.Select(WithoutAir)]);
        var leftOut = new List<(string, string)>();
        (TimedRun Run, LogTime Time)[] first = Usable(baseline, leftOut);
        (TimedRun Run, LogTime Time)[][] others = [.. variants.Select(v => Usable(v, leftOut))];
        problem = first.Length == 0 ? None("baseline", baseline, leftOut)
            : variants.Zip(others).Where(v => v.Second.Length == 0).Select(v => None("variant", v.First, leftOut)).FirstOrDefault();
        if (problem is not null)
            return null;
        TimedRun[] every = [.. others.Prepend(first).SelectMany(g => g).Select(r => r.Run).Concat(Library).DistinctBy(r => r.Name)];
        Repeatability scatter = SetupScatter.Of(every, FromRpm, ToRpm);
        IReadOnlyList<SpeedBand> bands = SpeedBands.Between(FromRpm, ToRpm);
        Repeatability[] byBand = [.. bands.Select(b => SetupScatter.Of(every, b.FromRpm, b.ToRpm))];
        double start = StartRpm ?? Robust.Median(others.Prepend(first).SelectMany(g => g).Select(r => r.Run.FastestRpm));
        VariantResult[] results = [.. variants.Zip(others, (v, runs) => Of(v.Name, first, runs, start, scatter, bands, byBand))];
        double[] adjusted = HolmAdjustment.Of([.. results.Select(r => r.Change.P)]);
        return new RunComparison(
            FromRpm, ToRpm, [.. first.Select(r => r.Run)], [.. results.Zip(adjusted, (r, p) => r with { AdjustedP = p })], scatter, leftOut,
            [.. others.Prepend(first).SelectMany(g => Outliers.Of(g, ScatterBeside(every, g)))], [.. Gaps(others.Prepend(first).SelectMany(g => g).Select(r => r.Run))]);
    }

    private static RunGroup WithoutAir(RunGroup group) => group with { Runs = [.. group.Runs.Select(r => r with { Air = null })] };

    private (TimedRun Run, LogTime Time)[] Usable(RunGroup group, List<(string, string)> leftOut)
    {
        (TimedRun Run, LogTime Time)[] all = [.. group.Runs.Select(r => (r, r.Time(FromRpm, ToRpm)))];
        leftOut.AddRange(all.Where(r => !r.Time.IsKnown).Select(r => (r.Run.Name, r.Run.WhyNot(FromRpm, ToRpm)!)));
        return [.. all.Where(r => r.Time.IsKnown)];
    }

    private string None(string what, RunGroup group, List<(string Run, string Why)> leftOut)
    {
        string why = string.Join("; ", leftOut.Where(l => group.Runs.Any(r => r.Name == l.Run)).Take(5).Select(l => $"{l.Run}: {l.Why}"));
        double highest = group.Runs.Select(r => r.FastestRpm).DefaultIfEmpty(0).Min();
        double lowest = group.Runs.Select(r => r.LastRpm).DefaultIfEmpty(0).Max();
        string seen = highest > lowest ? string.Create(CultureInfo.InvariantCulture, $" All of them were seen between {highest:F0} and {lowest:F0} rpm.") : "";
        return string.Create(CultureInfo.InvariantCulture, $"no run of the {what} {group.Name} can be timed from {FromRpm:0.#} to {ToRpm:0.#} rpm: {why}.{seen}");
    }

    private VariantResult Of(
        string name, (TimedRun Run, LogTime Time)[] first, (TimedRun Run, LogTime Time)[] second, double startRpm, Repeatability scatter,
        IReadOnlyList<SpeedBand> bands, Repeatability[] byBand)
    {
        Change change = Change.Of(first.Select(r => r.Time), second.Select(r => r.Time), scatter)!;
        Change?[] inBands = [.. bands.Zip(byBand, (b, s) => Change.Of(Times(first, b), Times(second, b), s))];
        double[] adjusted = HolmAdjustment.Of([.. inBands.Select(c => c?.P ?? double.NaN)]);
        double[] a = [.. first.Select(r => r.Time.Value)];
        double[] b = [.. second.Select(r => r.Time.Value)];
        bool several = a.Length > 1 && b.Length > 1;
        double sd = several ? Math.Sqrt((Sample.Of(a).Variance + Sample.Of(b).Variance) / 2) : scatter.Sd;
        return new VariantResult(name, [.. second.Select(r => r.Run)], change)
        {
            Permutation = several ? PermutationTest.Of(a, b) : null,
            ByLibrary = several && scatter.IsKnown
                ? change with { Basis = ChangeBasis.LibraryScatter, Logs = MeanDifference.Pooled(Sample.Of(a), Sample.Of(b), scatter) } : null,
            Bands = [.. bands.Select((band, i) => new BandChange(band.FromRpm, band.ToRpm, inBands[i], adjusted[i]))],
            WholeSpin = WholeSpin.Of([.. first.Select(r => r.Run)], [.. second.Select(r => r.Run)], startRpm, scatter),
            SmallestShownPercent = change.HasInterval ? LogTime.Percent(Power.SmallestShown(change.Logs.U, change.Logs.DegreesOfFreedom)) : double.NaN,
            RunsNeeded = change.HasInterval && sd > 0 ? Power.RunsNeeded(change.Logs.Difference, sd) : null,
            PercentBeforeAir = first.Concat(second).All(r => r.Run.Air is not null) ? LogTime.Percent(MeanAsSpun(second) - MeanAsSpun(first)) : null,
            Warnings = Confounders.Of(first, second, change.Logs.Difference),
        };
    }

    private static IEnumerable<LogTime> Times((TimedRun Run, LogTime Time)[] runs, SpeedBand band) =>
        runs.Select(r => r.Run.Time(band.FromRpm, band.ToRpm));

    private double MeanAsSpun((TimedRun Run, LogTime Time)[] runs) => runs.Average(r => (r.Run with { Air = null }).Time(FromRpm, ToRpm).Value);

    private Repeatability ScatterBeside(TimedRun[] every, (TimedRun Run, LogTime Time)[] group) =>
        SetupScatter.Of(every.ExceptBy(group.Select(g => g.Run.Name), r => r.Name), FromRpm, ToRpm);

    private IEnumerable<string> Gaps(IEnumerable<TimedRun> runs) => runs.Select(r => (r.Name, LostS: r.LostS(FromRpm, ToRpm))).Where(r => r.LostS > 0)
        .Select(r => string.Create(CultureInfo.InvariantCulture, $"{r.Name}: the signal was lost for {r.LostS:F0} s between the two speeds; its decay time stands, since the clock went on, but not its times in the bands there"));
}
