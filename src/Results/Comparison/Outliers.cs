using System.Globalization;
using Acquire.Results.Statistics;

namespace Acquire.Results.Comparison;

/// <summary>Runs that lie far from the others of their group. They are shown and stay in.</summary>
internal static class Outliers
{
    private const int Fewest = 3;
    private const int EnoughForTheirOwn = 6;

    /// <summary>Finds them, with words for people.</summary>
    /// <param name="runs">A group; each run is judged among those of its own set-up.</param>
    /// <param name="others">How runs of other groups scatter, by which a small group is judged.</param>
    public static IEnumerable<(string Run, string Why)> Of(IEnumerable<(TimedRun Run, LogTime Time)> runs, Repeatability others) =>
        runs.GroupBy(r => r.Run.SetupText).SelectMany(g => OfOne([.. g], others));

    private static IEnumerable<(string Run, string Why)> OfOne(List<(TimedRun Run, LogTime Time)> runs, Repeatability others)
    {
        double[] values = [.. runs.Select(r => r.Time.Value)];
        if (values.Length < Fewest)
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
            string by = byOwn ? "their scatter (modified z)" : "the repeatability of other set-ups";
            yield return (runs[i].Run.Name, string.Create(
                CultureInfo.InvariantCulture, $"{LogTime.Percent(values[i] - median):+0.0;−0.0} % from the median of its set-up, {Math.Abs(z[i]):F1} times {by}"));
        }
    }
}
