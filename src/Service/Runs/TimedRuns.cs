using System.Globalization;
using Acquire.Recording;
using Acquire.Results.Comparison;
using Acquire.Service.Commands;

namespace Acquire.Service.Runs;

/// <summary>Makes of runs as they are read what comparisons and sweeps need.</summary>
internal static class TimedRuns
{
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

    /// <summary>A run's name, also where its folder's path was given.</summary>
    public static string Name(string nameOrPath) => Path.GetFileName(Path.TrimEndingDirectorySeparator(nameOrPath));

    private static double Mean(IEnumerable<double> values) => values.Where(double.IsFinite).DefaultIfEmpty(double.NaN).Average();
}
