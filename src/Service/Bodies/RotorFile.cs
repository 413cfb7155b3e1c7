using System.Globalization;
using Acquire.Results.Bodies;

namespace Acquire.Service.Bodies;

/// <summary>What a rotor file gave.</summary>
/// <param name="Rotor">The body; null where there are problems.</param>
/// <param name="Problems">What is wrong: file, line, place in the file, found, expected. The body cannot be had until it is put right.</param>
/// <param name="Warnings">What is odd, though the body can be worked out.</param>
internal sealed record RotorReading(Rotor? Rotor, IReadOnlyList<string> Problems, IReadOnlyList<string> Warnings);

/// <summary>Reads a body as a stack of parts from a JSON file. `acquire rotor --help` and the README tell its members.</summary>
internal static class RotorFile
{
    private const long LargestBytes = 1_000_000;
    private const int MostParts = 200;
    private static readonly string[] Members = ["name", "note", "runUpRpm", "parts"];

    /// <summary>Reads a file.</summary>
    /// <param name="path">Its full path.</param>
    /// <param name="changes">Changes to make first, such as <c>rim.densityKgM3=8500</c>.</param>
    public static RotorReading Read(string path, IReadOnlyList<string>? changes = null)
    {
        if (!File.Exists(path))
            return new RotorReading(null, [Directory.Exists(path) ? $"{path}: found a folder, expected a file of a body's parts" : $"{path}: found no file, expected one of a body's parts"], []);
        try
        {
            long length = new FileInfo(path).Length;
            return length > LargestBytes
                ? new RotorReading(null, [$"{path}: found {length} bytes, expected {LargestBytes} at the most"], [])
                : Read(Path.GetFileName(path), File.ReadAllBytes(path), changes);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return new RotorReading(null, [$"{path}: cannot be read: {e.Message}"], []);
        }
    }

    /// <summary>Reads a file's bytes.</summary>
    /// <param name="file">Its name, for messages.</param>
    /// <param name="bytes">What is in it.</param>
    /// <param name="changes">Changes to make first.</param>
    public static RotorReading Read(string file, byte[] bytes, IReadOnlyList<string>? changes = null)
    {
        if (JsonPlace.Read(bytes, out string problem) is not { } whole)
            return new RotorReading(null, [$"{file}, {problem}"], []);
        var words = new JsonWords(file);
        foreach (string change in changes ?? [])
            whole = WhatIf.Apply(whole, change, words);
        Rotor? rotor = words.Problems.Count == 0 ? Whole(whole, words) : null;
        return new RotorReading(words.Problems.Count == 0 ? rotor : null, words.Problems, words.Warnings);
    }

    private static Rotor? Whole(JsonPlace whole, JsonWords words)
    {
        if (whole.Members is null)
        {
            words.Wrong(whole, whole.Found, "an object with parts");
            return null;
        }

        words.Known(whole, Members);
        string name = words.Text(whole, "name") ?? "";
        words.Text(whole, "note");
        double? runUp = words.Number(whole, "runUpRpm", 0.1, 1e6, "rpm");
        if (!whole.Members.TryGetValue("parts", out JsonPlace? list) || list.Items is not { Count: > 0 and <= MostParts } items)
        {
            words.Wrong(list ?? whole, list is null ? "no parts" : list.Items is { } given ? $"{given.Count} parts" : list.Found, $"parts, a list of 1 to {MostParts}");
            return null;
        }

        List<RotorPart> parts = [.. items.Select((item, i) => PartReader.Part(item, i + 1, words)).OfType<RotorPart>()];
        if (words.Problems.Count > 0)
            return null;
        PlacedShape[] all = [.. parts.SelectMany(p => p.Bores.Prepend(p))];
        foreach (IGrouping<string, PlacedShape> same in all.GroupBy(p => p.Name, StringComparer.OrdinalIgnoreCase).Where(g => g.Count() > 1))
            words.Wrong(list, $"the name '{same.Key}' {same.Count()} times", "a name of its own for each part");
        Warn(parts, words);
        return Rotor.Of(name, parts, runUp);
    }

    private static void Warn(List<RotorPart> parts, JsonWords words)
    {
        foreach ((RotorPart one, RotorPart other, double shared) in StackCheck.Overlaps(parts))
        {
            RotorPart smaller = one.Net.Amount < other.Net.Amount ? one : other;
            words.Warn(Invariant($"'{one.Name}' and '{other.Name}' share {shared * 1e6:0.###} cm³, {100 * shared / smaller.Net.Amount:0.##} % of '{smaller.Name}': it counts twice. Take it out of one with remove"));
        }

        RotorPart heaviest = parts.MaxBy(p => p.Mass.Amount)!;
        foreach (RotorPart loose in StackCheck.Loose(parts))
            words.Warn(Invariant($"'{loose.Name}' floats: from {loose.BottomM * 1000:0.###} to {loose.TopM * 1000:0.###} mm above the tip, nothing joins it to '{heaviest.Name}', the heaviest part"));
        double lowest = parts.Min(p => p.BottomM);
        if (lowest > StackCheck.TouchM)
            words.Warn(Invariant($"nothing reaches down to the tip at height 0: the lowest part begins {lowest * 1000:0.###} mm above it"));
    }

    private static string Invariant(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
