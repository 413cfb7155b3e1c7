using Acquire.Results.Statistics;

namespace Acquire.Results.Comparison;

/// <summary>The repeatability of a library between two speeds.</summary>
public static class SetupScatter
{
    /// <summary>Pools the runs of equal set-up.</summary>
    /// <param name="runs">The library's runs.</param>
    /// <param name="fromRpm">The higher speed.</param>
    /// <param name="toRpm">The lower speed.</param>
    public static Repeatability Of(IEnumerable<TimedRun> runs, double fromRpm, double toRpm) =>
        Repeatability.Of(runs.Select(r => (r.SetupText, Time: r.Time(fromRpm, toRpm)))
            .Where(r => r.Time.IsKnown)
            .GroupBy(r => r.SetupText, r => r.Time.Value)
            .Select(g => (IReadOnlyCollection<double>)[.. g]));
}
