using System.Globalization;
using Acquire.Results.Statistics;
using MathNet.Numerics.LinearAlgebra;

namespace Acquire.Results.Comparison;

/// <summary>What else than the change itself could have made the difference between two groups of runs.</summary>
internal static class Confounders
{
    private const double WarmerC = 2;
    private const double HoursApart = 3;
    private const double TrendLevel = 0.1;

    /// <summary>Finds it, for people.</summary>
    /// <param name="baseline">The baseline's runs with the logarithms of their decay times.</param>
    /// <param name="variant">The same of the variant.</param>
    /// <param name="difference">Difference of the mean logarithms.</param>
    public static IReadOnlyList<string> Of(
        IReadOnlyList<(TimedRun Run, LogTime Time)> baseline, IReadOnlyList<(TimedRun Run, LogTime Time)> variant, double difference)
    {
        TimedRun[] first = [.. baseline.Select(r => r.Run)];
        TimedRun[] second = [.. variant.Select(r => r.Run)];
        string?[] found =
        [
            .. Mixed(first, "baseline"), .. Mixed(second, "variant"), Apart(first, second), Order(first, second), TimeOfDay(first, second),
            Trend(baseline, variant, difference), Temperature(first, second),
        ];
        return [.. found.OfType<string>()];
    }

    // What only one of the groups has belongs to what sets it apart, as a cover's clearance does.
    private static string? Apart(TimedRun[] baseline, TimedRun[] variant)
    {
        string[] apart = [.. Keys(baseline, variant).Where(k => Given(baseline, k) && Given(variant, k) && !Values(baseline, k).Intersect(Values(variant, k)).Any())];
        return apart.Length < 2 ? null
            : $"more than one thing differs: {string.Join("; ", apart.Select(k => $"{k} is {Both(baseline, variant, k)}"))}; which of them made the difference these runs cannot tell";
    }

    private static IEnumerable<string> Mixed(TimedRun[] runs, string group) => Keys(runs, []).Where(k => Values(runs, k).Length > 1)
        .Select(k => $"runs of the {group} are of more than one {k}: {Words(runs, k)}; the change is a mean over them");

    private static bool Given(TimedRun[] runs, string key) => Values(runs, key).Any(v => v.Length > 0);

    private static string[] Keys(TimedRun[] baseline, TimedRun[] variant) =>
        [.. baseline.Concat(variant).SelectMany(r => r.Setup.Keys).Distinct().Order(StringComparer.Ordinal)];

    private static string Both(TimedRun[] baseline, TimedRun[] variant, string key) => $"{Words(baseline, key)} in the baseline, {Words(variant, key)} in the variant";

    private static string Words(TimedRun[] runs, string key) => string.Join(" or ", Values(runs, key).Select(v => v.Length == 0 ? "not given" : v));

    private static string[] Values(TimedRun[] runs, string key) => [.. runs.Select(r => r.Setup.GetValueOrDefault(key, "")).Distinct().OrderBy(v => v.Length).ThenBy(v => v, StringComparer.Ordinal)];

    private static string? Order(TimedRun[] baseline, TimedRun[] variant)
    {
        if (baseline.Length + variant.Length < 3)
            return null;
        bool before = baseline.Max(r => r.StartedAt) < variant.Min(r => r.StartedAt);
        bool after = variant.Max(r => r.StartedAt) < baseline.Min(r => r.StartedAt);
        return !before && !after ? null
            : $"all runs of the baseline came {(before ? "before" : "after")} all of the variant: what drifts with time, such as a wearing tip or a warming room, looks the same as the change; spin them in turn";
    }

    private static string? TimeOfDay(TimedRun[] baseline, TimedRun[] variant)
    {
        static double[] Hours(TimedRun[] runs) => [.. runs.Select(r => r.StartedAt.UtcDateTime.TimeOfDay.TotalHours)];
        static int Days(TimedRun[] runs) => runs.Select(r => r.StartedAt.UtcDateTime.Date).Distinct().Count();
        (double[] a, double[] b) = (Hours(baseline), Hours(variant));
        bool apart = a.Max() < b.Min() || b.Max() < a.Min();
        if (Days(baseline) < 2 || Days(variant) < 2 || !apart || Math.Abs(a.Average() - b.Average()) < HoursApart)
            return null;
        return Text($"on all days the baseline was spun from {a.Min():F0} to {a.Max():F0} h and the variant from {b.Min():F0} to {b.Max():F0} h (UTC): the time of day could be what differs");
    }

    private static string? Trend(
        IReadOnlyList<(TimedRun Run, LogTime Time)> baseline, IReadOnlyList<(TimedRun Run, LogTime Time)> variant, double difference)
    {
        (TimedRun Run, LogTime Time)[] all = [.. baseline, .. variant];
        DateTimeOffset first = all.Min(r => r.Run.StartedAt);
        double[] hours = [.. all.Select(r => (r.Run.StartedAt - first).TotalHours)];
        var design = Matrix<double>.Build.Dense(all.Length, 3, (i, j) => j switch { 0 => 1, 1 => i < baseline.Count ? 0 : 1, _ => hours[i] });
        if (LinearModel.Fit(design, Vector<double>.Build.Dense([.. all.Select(r => r.Time.Value)])) is not { } fit)
            return null;
        double slope = fit.Coefficients[2];
        double apart = hours.Skip(baseline.Count).Average() - hours.Take(baseline.Count).Average();
        double p = 2 * Student.Below(-Math.Abs(slope / Math.Sqrt(fit.Covariance[2, 2])), fit.DegreesOfFreedom);
        return !(p < TrendLevel) || Math.Abs(slope * apart) < 0.5 * Math.Abs(difference) ? null
            : Text($"within the groups the decay time changed by {LogTime.Percent(slope):+0.0;−0.0} % an hour; the groups lie {Math.Abs(apart):F1} h apart, for which that makes {LogTime.Percent(slope * apart):+0.0;−0.0} %, beside a difference of {LogTime.Percent(difference):+0.0;−0.0} %");
    }

    private static string? Temperature(TimedRun[] baseline, TimedRun[] variant)
    {
        double[] a = [.. baseline.Select(r => r.TemperatureC).Where(double.IsFinite)];
        double[] b = [.. variant.Select(r => r.TemperatureC).Where(double.IsFinite)];
        if (a.Length == 0 || b.Length == 0 || !(a.Max() < b.Min() || b.Max() < a.Min()))
            return null;
        double warmer = b.Average() - a.Average();
        return Math.Abs(warmer) < WarmerC ? null
            : Text($"the variant was spun at {b.Average():F1} °C, the baseline at {a.Average():F1} °C: oil and contact change with it, which no correction for air takes out");
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
