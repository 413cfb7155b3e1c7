using Acquire.Results.Comparison;
using Acquire.Results.Statistics;

namespace Acquire.Results.Launches;

/// <summary>Launches of one person, grip or whatever runs are grouped by.</summary>
/// <param name="Name">What they have in common; empty where runs do not say.</param>
/// <param name="Peaks">Their peak speeds, rpm.</param>
/// <param name="MeanRpm">Their mean.</param>
/// <param name="LowRpm">Lower end of its 95 % interval; NaN where no scatter is known.</param>
/// <param name="HighRpm">Upper end.</param>
/// <param name="Change">By how much their peak speed differs from the first group's, by logarithms; null of the first.</param>
/// <param name="AdjustedP">Its probability with regard to the number of groups (Holm); NaN where none is known.</param>
public sealed record LaunchGroup(string Name, IReadOnlyList<double> Peaks, double MeanRpm, double LowRpm, double HighRpm, Change? Change, double AdjustedP);

/// <summary>Groups of launches beside each other.</summary>
public static class LaunchGroups
{
    /// <summary>Compares the peak speeds of groups with the first one's, as set-ups are compared: Welch's test on logarithms; where a group has one run,
    /// by the scatter of the groups that have more.</summary>
    /// <param name="groups">Name, and peak speed with its standard uncertainty of each run, rpm.</param>
    public static IReadOnlyList<LaunchGroup> Of(IReadOnlyList<(string Name, IReadOnlyList<(double Rpm, double URpm)> Peaks)> groups)
    {
        ArgumentNullException.ThrowIfNull(groups);
        LogTime[][] logs = [.. groups.Select(g => g.Peaks.Select(p => new LogTime(Math.Log(p.Rpm), double.IsFinite(p.URpm) ? p.URpm / p.Rpm : 0)).ToArray())];
        Repeatability scatter = Repeatability.Of(logs.Select(l => l.Select(t => t.Value).ToArray()));
        Change?[] changes = [.. logs.Select((l, i) => i == 0 ? null : Change.Of(logs[0], l, scatter))];
        double[] adjusted = HolmAdjustment.Of([.. changes.Select(c => c?.P ?? double.NaN)]);
        return [.. groups.Select((g, i) => Of(g.Name, [.. g.Peaks.Select(p => p.Rpm)], changes[i], adjusted[i]))];
    }

    private static LaunchGroup Of(string name, double[] peaks, Change? change, double adjusted)
    {
        Sample sample = Sample.Of(peaks);
        double half = sample.Count > 1 ? sample.Sd / Math.Sqrt(sample.Count) * Student.Quantile(0.975, sample.Count - 1) : double.NaN;
        return new LaunchGroup(name, peaks, sample.Mean, sample.Mean - half, sample.Mean + half, change, adjusted);
    }
}
