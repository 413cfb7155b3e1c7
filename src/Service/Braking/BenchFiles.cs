using System.Globalization;
using Acquire.Results.Braking;
using Acquire.Service.Commands;
using Acquire.Service.Display;

namespace Acquire.Service.Braking;

/// <summary>What a call wants of a motor bench.</summary>
/// <param name="Files">The sheets, full paths.</param>
/// <param name="Baseline">The bare motor as it was named.</param>
/// <param name="BaselineFile">The same as a full path, if it is one.</param>
/// <param name="Against">What the others are compared with; the first where null.</param>
/// <param name="WindingOhm">Resistance whose loss is taken off, Ω; 0 for none.</param>
internal sealed record BenchOrder(string[] Files, string Baseline, string BaselineFile, string? Against, double WindingOhm);

/// <summary>The sheets of a motor bench, and what they come to.</summary>
internal static class BenchFiles
{
    private const double MostRpm = 1e6;
    private const double RadPerSPerRpm = Math.PI / 30;

    /// <summary>Reads the sheets and works them out.</summary>
    /// <returns>Null with what is wrong in <paramref name="problem"/>.</returns>
    /// <exception cref="Recording.RunFormatException">A sheet cannot be read.</exception>
    public static BrakeText? Read(BenchOrder order, BenchColumns columns, out string? problem)
    {
        var notes = new List<string>();
        var found = new Dictionary<string, List<BenchReading>>(StringComparer.Ordinal);
        foreach (string file in order.Files)
        {
            foreach (BenchConfiguration configuration in Sheet(file, columns, notes))
            {
                if (found.TryGetValue(configuration.Name, out List<BenchReading>? before))
                    before.AddRange(configuration.Readings);
                else
                    found[configuration.Name] = [.. configuration.Readings];
            }
        }

        if (Bare(order, columns, found, notes, out problem) is not { } bare)
            return null;
        problem = Wrong(order, bare, found);
        if (problem is not null)
            return null;
        string first = order.Against ?? found.Keys.First();
        BenchConfiguration[] all = [.. found.OrderBy(f => f.Key == first ? 0 : 1).Select(f => new BenchConfiguration(f.Key, f.Value))];
        return BrakeBench.Of(bare, all, order.WindingOhm, out problem) is { } bench ? new BrakeText(bench, order.WindingOhm, notes) : null;
    }

    private static List<BenchConfiguration> Sheet(string file, BenchColumns columns, List<string> notes)
    {
        BenchSheet sheet = BenchSheet.Read(file, columns);
        string name = Path.GetFileName(file);
        foreach ((long line, string what) in sheet.LeftOut.Told)
            notes.Add($"{name}, line {line}: {what}; left out");
        if (sheet.LeftOut.Count > 0)
            notes.Add($"{name}: {sheet.LeftOut.Count} of {sheet.Lines} lines left out");
        if (sheet.LeftOut.Commas > 0 && !columns.DecimalComma)
            notes.Add($"{name}: {sheet.LeftOut.Commas} of the lines have a decimal comma: --decimal-comma reads them, where ; or a tab separates the columns");
        return sheet.Configurations;
    }

    private static BenchConfiguration? Bare(BenchOrder order, BenchColumns columns, Dictionary<string, List<BenchReading>> found, List<string> notes, out string? problem)
    {
        problem = null;
        if (!File.Exists(order.BaselineFile))
        {
            if (found.Remove(order.Baseline, out List<BenchReading>? named))
                return new BenchConfiguration(order.Baseline, named);
            string near = NearestName.To(order.Baseline, [.. found.Keys]) is { } name ? $"; did you mean {name}?" : "";
            problem = $"--baseline: '{order.Baseline}' is neither a file nor a configuration of the sheets, which are {string.Join(", ", found.Keys)}{near}";
            return null;
        }

        List<BenchConfiguration> own = Sheet(order.BaselineFile, columns, notes);
        if (own.Count == 1)
            return own[0];
        problem = own.Count == 0 ? $"--baseline: {order.BaselineFile} has no reading that can be used"
            : $"--baseline: {order.BaselineFile} has the configurations {string.Join(", ", own.Select(c => c.Name))}; allowed is a sheet of the bare motor alone, or the name of its configuration in FILE";
        return null;
    }

    private static string? Wrong(BenchOrder order, BenchConfiguration bare, Dictionary<string, List<BenchReading>> found)
    {
        if (found.Count == 0)
            return "no reading of any body or cover is left; each needs lines of its own in FILE";
        if (order.Against is { } against && !found.ContainsKey(against))
            return $"--against: there is no configuration '{against}'; there are {string.Join(", ", found.Keys)}";
        BenchReading[] all = [.. bare.Readings, .. found.Values.SelectMany(r => r)];
        if (all.Max(r => r.RadPerS) > MostRpm * RadPerSPerRpm)
            return string.Create(CultureInfo.InvariantCulture, $"speeds go up to {all.Max(r => r.RadPerS) / RadPerSPerRpm:G4} rpm, expected {MostRpm:0} at the most; is --speed-unit right?");
        return order.WindingOhm > 0 && all.Any(r => double.IsNaN(r.Amps))
            ? $"--winding-ohm: {all.Count(r => double.IsNaN(r.Amps))} of {all.Length} readings have no amps; allowed only where all have (--amps-column)" : null;
    }
}
