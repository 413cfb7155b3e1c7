using System.Globalization;
using Acquire.Results.Statistics;

namespace Acquire.Results.Comparison;

/// <summary>Runs that lie far from the others of their group. They are shown and stay in.</summary>
internal static class Outliers
{
    private const int EnoughForTheirOwn = 6;

    /// <summary>Finds them, with words for people.</summary>
    /// <param name="runs">A group.</param>
    /// <param name="others">How runs of other groups scatter, by which a small group is judged.</param>
    public static IEnumerable<(string Run, string Why)> Of(IReadOnlyList<(TimedRun Run, LogTime Time)> runs, Repeatability others)
    {
        double[] values = [.. runs.Select(r => r.Time.Value)];
        if (values.Length < 3)
            yield break;
        double median = Robust.Median(values);
        bool byOwn = values.Length >= EnoughForTheirOwn;
        if (!byOwn && !(others.IsKnown && others.Sd > 0))
            yield break;
        double[] z = byOwn ? Robust.ModifiedZ(values) : [.. values.Select(v => (v - median) / others.Sd)];
        for (int i = 0; i < z.Length; i++)
        {
            if (Math.Abs(z[i]) <= Robust.FlagBeyond)
                continue;
            string by = byOwn ? "the scatter of its group (modified z)" : "the repeatability of the other set-ups";
            yield return (runs[i].Run.Name, string.Create(
                CultureInfo.InvariantCulture, $"{LogTime.Percent(values[i] - median):+0.0;−0.0} % from its group's median, {Math.Abs(z[i]):F1} times {by}"));
        }
    }
}
