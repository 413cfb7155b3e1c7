using Acquire.Recording;

namespace Acquire.Service.Capture;

/// <summary>The air of a run, from what its journal holds of it.</summary>
/// <param name="Points">The rows of environment.csv, in order of time.</param>
/// <param name="From">Where they are from; null where the air was neither measured nor entered.</param>
internal sealed record JournaledAir(IReadOnlyList<EnvironmentPoint> Points, RunAir? From)
{
    /// <summary>Takes those that belong to a run: every look from its first pulse to its end, the last of each sensor before, if it is no older than a minute,
    /// with its own negative time; and what was entered by hand, at 0 s.</summary>
    /// <param name="looks">All looks of the journal.</param>
    /// <param name="byHand">What was entered; null where nothing was.</param>
    /// <param name="firstHostNs">When the run's first pulse came.</param>
    /// <param name="endS">When the run ended, seconds since.</param>
    public static JournaledAir Of(IReadOnlyList<(long HostNs, AirLooked Look)> looks, AirLooked? byHand, long firstHostNs, double endS)
    {
        long lastNs = firstHostNs + (long)((double.IsFinite(endS) ? Math.Max(0, endS) : 0) * 1e9);
        (long HostNs, AirLooked Look)[] within = [.. looks.Where(l => l.HostNs >= firstHostNs && l.HostNs <= lastNs)];
        IEnumerable<(long HostNs, AirLooked Look)> before = looks
            .Where(l => l.HostNs < firstHostNs && firstHostNs - l.HostNs <= AirWatch.FreshNs && !l.Look.IsEmpty)
            .GroupBy(l => l.Look.Sensor).Select(s => s.MaxBy(l => l.HostNs));
        IEnumerable<(double TimeS, AirLooked Look)> rows = before.Concat(within.Where(l => !l.Look.IsEmpty)).Select(l => ((l.HostNs - firstHostNs) * 1e-9, l.Look));
        if (byHand is not null)
            rows = rows.Append((0, byHand));
        (double TimeS, AirLooked Look)[] kept = [.. rows.OrderBy(r => r.TimeS)];
        string[] sources = [.. kept.Select(r => r.Look.Sensor).Concat(within.Select(l => l.Look.Sensor)).Distinct().Order(StringComparer.Ordinal)];
        return new JournaledAir(
            [.. kept.Select(r => new EnvironmentPoint(r.TimeS, r.Look.TemperatureC, r.Look.PressureHPa, r.Look.HumidityPct))],
            sources.Length == 0 ? null : new RunAir(string.Join(", ", sources), kept.Length, within.LongCount(l => l.Look.IsEmpty)));
    }
}
