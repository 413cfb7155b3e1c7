using Acquire.Results.Comparison;
using Acquire.Results.Statistics;

namespace Acquire.Results.Sweep;

/// <summary>A run with the factor's value and the category that it belongs to.</summary>
/// <param name="Run">The run.</param>
/// <param name="Value">The factor's value.</param>
/// <param name="Category">The category; empty where runs are not parted.</param>
public sealed record SweptRun(TimedRun Run, double Value, string Category);

/// <summary>Decay time against a numeric factor, a curve for each category.</summary>
/// <param name="FromRpm">The higher speed.</param>
/// <param name="ToRpm">The lower speed.</param>
/// <param name="Curves">The curves.</param>
/// <param name="Baseline">Runs of the baseline; empty where there is none.</param>
/// <param name="BaselineS">Their mean decay time, s; NaN where there is none.</param>
/// <param name="LeftOut">Runs that do not count, with the reason.</param>
/// <param name="Warnings">What else could have made differences.</param>
public sealed record FactorSweep(
    double FromRpm, double ToRpm, IReadOnlyList<FactorCurve> Curves, IReadOnlyList<TimedRun> Baseline, double BaselineS,
    IReadOnlyList<(string Run, string Why)> LeftOut, IReadOnlyList<string> Warnings)
{
    private const double OrderSeen = 0.9;

    /// <summary>Makes it.</summary>
    /// <param name="runs">The runs.</param>
    /// <param name="baseline">What gains are over; empty for none.</param>
    /// <param name="fromRpm">The higher speed.</param>
    /// <param name="toRpm">The lower speed.</param>
    /// <param name="factor">The factor's name, which is not part of what makes runs repeats.</param>
    /// <param name="by">What the runs are parted by; empty where they are not.</param>
    /// <param name="problem">Why there is no answer, for people.</param>
    public static FactorSweep? Of(
        IReadOnlyList<SweptRun> runs, IReadOnlyList<TimedRun> baseline, double fromRpm, double toRpm, string factor, string by, out string? problem)
    {
        if (runs.Select(r => r.Run).Concat(baseline).Any(r => r.Air is null))
            (runs, baseline) = ([.. runs.Select(r => r with { Run = r.Run with { Air = null } })], [.. baseline.Select(r => r with { Air = null })]);
        var leftOut = new List<(string, string)>();
        SweptRun[] usable = [.. runs.Where(r => Counts(r.Run, fromRpm, toRpm, leftOut))];
        TimedRun[] beside = [.. baseline.Where(r => Counts(r, fromRpm, toRpm, leftOut))];
        Repeatability library = SetupScatter.Of(usable.Select(r => r.Run).Concat(beside), fromRpm, toRpm);
        IGrouping<string, SweptRun>[] categories = [.. usable.GroupBy(r => r.Category).OrderBy(g => g.Key, StringComparer.Ordinal)];
        IGrouping<string, SweptRun>[] swept = [.. categories.Where(g => g.Select(r => r.Value).Distinct().Skip(1).Any())];
        foreach (SweptRun run in categories.Except(swept).SelectMany(g => g))
            leftOut.Add((run.Run.Name, FormattableString.Invariant($"its category has one value of {factor} only, {run.Value}")));
        string reasons = string.Join("; ", leftOut.Take(5).Select(l => $"{l.Item1}: {l.Item2}"));
        problem = swept.Length == 0 ? FormattableString.Invariant($"runs of two values of {factor} or more are needed that can be timed from {fromRpm:0.#} to {toRpm:0.#} rpm") + (reasons.Length > 0 ? $"; left out: {reasons}" : "")
            : baseline.Count > 0 && beside.Length == 0 ? FormattableString.Invariant($"no run of the baseline can be timed from {fromRpm:0.#} to {toRpm:0.#} rpm: {reasons}") : null;
        if (problem is not null)
            return null;
        LogTime[] reference = [.. beside.Select(r => r.Time(fromRpm, toRpm))];
        FactorCurve[] curves = [.. swept.Select(g => FactorCurve.Of(
            g.Key, [.. g.Select(r => new FactorPoint(r.Run.Name, r.Value, r.Run.Time(fromRpm, toRpm)))], library, reference))];
        return new FactorSweep(
            fromRpm, toRpm, curves, beside, reference.Length > 0 ? Math.Exp(reference.Average(t => t.Value)) : double.NaN, leftOut,
            [.. swept.SelectMany(g => Warn(g.Key, [.. g], [factor, by]))]);
    }

    private static bool Counts(TimedRun run, double fromRpm, double toRpm, List<(string, string)> leftOut)
    {
        if (run.WhyNot(fromRpm, toRpm) is not { } why)
            return true;
        leftOut.Add((run.Name, why));
        return false;
    }

    private static IEnumerable<string> Warn(string category, SweptRun[] runs, string[] meant)
    {
        string of = category.Length > 0 ? category + ": " : "";
        string[] mixed = [.. runs.SelectMany(r => r.Run.Setup.Keys).Distinct().Order(StringComparer.Ordinal)
            .Where(k => !meant.Contains(k, StringComparer.OrdinalIgnoreCase) && runs.Select(r => r.Run.Setup.GetValueOrDefault(k, "")).Distinct().Skip(1).Any())];
        if (mixed.Length > 0)
            yield return $"{of}the runs differ in {string.Join(" and ", mixed)} too; part them with --by, or choose with --where";
        if (runs.Length < 4)
            yield break;
        double rank = MathNet.Numerics.Statistics.Correlation.Spearman(
            runs.Select(r => (double)r.Run.StartedAt.UtcTicks), runs.Select(r => r.Value));
        if (Math.Abs(rank) >= OrderSeen)
            yield return $"{of}the values were spun in their order: what drifts with time, such as a wearing tip, looks the same as the factor; spin them in turn";
    }
}
