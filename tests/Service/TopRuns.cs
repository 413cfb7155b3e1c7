using Acquire.Recording;

namespace Acquire.Service.Tests;

/// <summary>Invented runs of several set-ups, from 2300 rpm down, whose times are off by given shares.</summary>
internal static class TopRuns
{
    /// <summary>Writes a run.</summary>
    /// <param name="library">Where.</param>
    /// <param name="number">Its number: it begins so many hours after the first.</param>
    /// <param name="stretch">By what its times are longer than the usual run's.</param>
    /// <param name="cover">Its cover.</param>
    /// <param name="clearanceMm">A factor; none where null.</param>
    /// <param name="environment">Lines of its environment.csv; none where null.</param>
    public static string Write(string library, int number, double stretch, string cover, double? clearanceMm = null, string? environment = null)
    {
        FinishedRun usual = SampleRuns.Make(top: "disc", peakRpm: 2300, start: SampleRuns.Start.AddHours(number), spread: 0.02);
        var run = new FinishedRun
        {
            Descriptor = usual.Descriptor with
            {
                Setup = new RunSetup { Top = "disc", Cover = cover, Factors = clearanceMm is { } mm ? new SortedDictionary<string, double> { ["clearance_mm"] = mm } : new() },
                Result = usual.Descriptor.Result with { StopS = usual.Descriptor.Result.StopS * stretch, ReleaseS = usual.Descriptor.Result.ReleaseS * stretch },
            },
            Speed = [.. usual.Speed.Select(p => p with { TimeS = p.TimeS * stretch, DecelRpmPerS = p.DecelRpmPerS / stretch })],
            Pulses = usual.Pulses,
            SecondsPerTick = usual.SecondsPerTick,
            Events = usual.Events,
        };
        string name = SampleRuns.Write(library, run);
        if (environment is not null)
            File.WriteAllText(Path.Combine(library, name, "environment.csv"), "time_s,temperature_c,pressure_hpa,humidity_pct\n" + environment + "\n");
        return name;
    }
}
