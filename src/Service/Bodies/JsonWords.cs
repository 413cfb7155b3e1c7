using System.Globalization;
using Acquire.Service.Commands;

namespace Acquire.Service.Bodies;

/// <summary>Takes members out of a JSON file and keeps what is wrong with them in words.</summary>
/// <param name="file">Name of the file.</param>
internal sealed class JsonWords(string file)
{
    private readonly List<string> _problems = [];
    private readonly List<string> _warnings = [];

    /// <summary>What is wrong.</summary>
    public IReadOnlyList<string> Problems => _problems;

    /// <summary>What is odd.</summary>
    public IReadOnlyList<string> Warnings => _warnings;

    /// <summary>Keeps a problem.</summary>
    public void Wrong(JsonPlace place, string found, string expected)
    {
        string line = place.Line > 0 ? $", line {place.Line}" : " with --what-if";
        string path = place.Path.Length > 0 ? ", " + place.Path : "";
        _problems.Add($"{file}{line}{path}: found {found}, expected {expected}");
    }

    /// <summary>Keeps a problem that is not the file's.</summary>
    public void Wrong(string problem) => _problems.Add(problem);

    /// <summary>Keeps what is odd.</summary>
    public void Warn(string warning) => _warnings.Add($"{file}: {warning}");

    /// <summary>Says which members are not known, and what was probably meant.</summary>
    public void Known(JsonPlace place, IReadOnlyCollection<string> known)
    {
        foreach ((string name, JsonPlace member) in place.Members!)
        {
            if (known.Contains(name))
                continue;
            string? nearest = known.FirstOrDefault(k => k.Length > name.Length && k.StartsWith(name, StringComparison.OrdinalIgnoreCase) && IsUnit(k[name.Length..]))
                ?? NearestName.To(name, known);
            Wrong(member, $"a member '{name}'", nearest is null ? "one of " + string.Join(", ", known) : $"'{nearest}'? Known here are {string.Join(", ", known)}");
        }
    }

    /// <summary>A text; null where it is missing, and a problem where it is none.</summary>
    public string? Text(JsonPlace place, string name)
    {
        if (!place.Members!.TryGetValue(name, out JsonPlace? member))
            return null;
        if (member.Text is null)
            Wrong(member, member.Found, "a text in quotation marks");
        return member.Text;
    }

    /// <summary>A number within limits; null where it is missing, and a problem where it is none.</summary>
    /// <param name="place">The object.</param>
    /// <param name="name">The member.</param>
    /// <param name="least">The least that is allowed.</param>
    /// <param name="most">The most.</param>
    /// <param name="unit">The unit, for people.</param>
    public double? Number(JsonPlace place, string name, double least, double most, string unit)
    {
        if (!place.Members!.TryGetValue(name, out JsonPlace? member))
            return null;
        if (member.Number is { } number && number >= least && number <= most)
            return number;
        Wrong(member, member.Found, $"a number from {Text(least)} to {Text(most)} {unit}".TrimEnd());
        return null;
    }

    private static bool IsUnit(string rest) => rest is "Mm" or "M" or "KgM3" or "GCm3" or "G" or "Kg" or "MPa" or "Rpm";

    private static string Text(double value) => value.ToString("0.######", CultureInfo.InvariantCulture);
}
