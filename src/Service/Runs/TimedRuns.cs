using System.Globalization;
using Acquire.Recording;
using Acquire.Results.Air;
using Acquire.Results.Comparison;
using Acquire.Results.Losses;
using Acquire.Service.Commands;

namespace Acquire.Service.Runs;

/// <summary>Makes of runs as they are read what comparisons and sweeps need.</summary>
internal static class TimedRuns
{
    // Near rest a wheel on bearings loses nothing to air, and no law of powers holds.
    private const double SlowestShare = 0.05;

    /// <summary>One run.</summary>
    public static TimedRun Of(RunData run)
    {
        RunSetup setup = run.Descriptor.Setup;
        var keys = new SortedDictionary<string, string>(StringComparer.Ordinal)
        {
            ["top"] = setup.Top,
            ["base"] = setup.Base,
            ["cover"] = setup.Cover,
            ["operator"] = setup.Operator,
        };
        foreach ((string factor, double value) in setup.Factors) keys[factor] = value.ToString(CultureInfo.InvariantCulture);
        double uRate = run.Descriptor.Clock.URatePpm;
        return new TimedRun(run.Name, run.Descriptor.StartedAt, keys, run.Speed, run.ReleaseS, double.IsFinite(uRate) ? uRate : 0)
        {
            TemperatureC = Mean(run.Environment.Select(e => e.TemperatureC)),
            Air = Air(run),
        };
    }

    /// <summary>Takes the named runs away.</summary>
    /// <returns>What is wrong with a name; null where all are there.</returns>
    public static string? LeaveOut(IReadOnlyList<string> names, IEnumerable<TimedRun> all)
    {
        string[] known = [.. all.Select(r => r.Name).Distinct()];
        foreach (string name in names.Select(Name).Where(n => !known.Contains(n)))
            return $"--leave-out: no run '{name}' is among those chosen" + (NearestName.To(name, known) is { } near ? $"; did you mean {near}?" : $"; there are {string.Join(", ", known.Take(8))}{(known.Length > 8 ? " …" : "")}");
        return null;
    }

    /// <summary>A problem with the filter that an option gave; one with another option names that itself.</summary>
    public static string Of(string option, string problem) => problem.StartsWith("--", StringComparison.Ordinal) ? problem : $"{option}: {problem}";

    /// <summary>A run's name, also where its folder's path was given.</summary>
    public static string Name(string nameOrPath) => Path.GetFileName(Path.TrimEndingDirectorySeparator(nameOrPath));

    // Where the humidity is not known it is taken as half, which is told with what it may be off by: between dry and wet the density of air at 20 °C differs by 1 %.
    private static AirCorrection? Air(RunData run)
    {
        double temperatureC = Mean(run.Environment.Select(e => e.TemperatureC));
        double pressurePa = 100 * Mean(run.Environment.Select(e => e.PressureHPa));
        double humidity = Mean(run.Environment.Select(e => e.HumidityPct)) / 100;
        if (!(temperatureC is > -50 and < 60 && pressurePa is > 30_000 and < 120_000)) return null;
        if (MoistAir.Of(temperatureC, pressurePa, double.IsFinite(humidity) ? Math.Clamp(humidity, 0, 1) : 0.5) is not { } air) return null;
        double slowest = SlowestShare * run.Speed.Where(p => p.TimeS >= run.ReleaseS && double.IsFinite(p.Rpm)).Select(p => p.Rpm).DefaultIfEmpty(0).Max();
        double endS = run.Speed.Where(p => p.TimeS >= run.ReleaseS && p.Rpm >= slowest).Select(p => p.TimeS).DefaultIfEmpty(run.ReleaseS).Max();
        return LossLawFit.Of(run.Speed, run.ReleaseS, endS) is not { } law ? null
            : new AirCorrection([.. law.Candidates.Select((c, i) => (c.Law, law.Weight(i)))], air, AirCorrection.Usual) { IsHumidityAssumed = !double.IsFinite(humidity) };
    }

    private static double Mean(IEnumerable<double> values) => values.Where(double.IsFinite).DefaultIfEmpty(double.NaN).Average();
}
