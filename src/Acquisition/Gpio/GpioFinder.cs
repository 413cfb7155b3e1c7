namespace Acquire.Acquisition.Gpio;

/// <summary>Says which line of which chip is meant.</summary>
internal static class GpioFinder
{
    /// <summary>Finds a line among the chips that there are.</summary>
    /// <param name="wanted">As given, <c>CHIP:LINE</c>.</param>
    /// <param name="label">The label of the chip that was open before; its number may have changed, and another chip may have its old one. Null where
    /// none was.</param>
    /// <param name="chips">The chips that there are.</param>
    /// <param name="problem">Why none is found; null where one is.</param>
    internal static (GpioChip Chip, GpioLineInfo Line)? Find(string wanted, string? label, IReadOnlyList<GpioChip> chips, out LinkProblem? problem)
    {
        (string chipName, string lineName) = Split(wanted, chips);
        GpioChip[] found = label is null ? Named(chipName, chips) : [.. chips.Where(chip => chip.Label == label)];
        if (found.Length > 1 && label is not null && Named(chipName, found) is [var same])
            found = [same]; // several are called the same; the number tells them apart as long as it stays
        problem = found switch
        {
            [] => chips.Select(chip => chip.Problem).FirstOrDefault(refused => refused is not null) ?? GpioProblem.NoSuchChip(chipName, chips),
            [{ Problem: { } refused }] => refused,
            [_] => null,
            _ => GpioProblem.Ambiguous(chipName, found),
        };
        if (problem is not null)
            return null;
        GpioLineInfo[] lines = Lines(lineName, found[0]);
        problem = lines.Length == 1 ? null : GpioProblem.NoSuchLine(lineName, found[0], lines);
        return problem is null ? (found[0], lines[0]) : null;
    }

    // Labels may hold colons; line names hardly do.
    private static (string Chip, string Line) Split(string wanted, IReadOnlyList<GpioChip> chips)
    {
        for (int at = wanted.LastIndexOf(':'); at > 0; at = wanted.LastIndexOf(':', at - 1))
        {
            if (Named(wanted[..at], chips).Length > 0)
                return (wanted[..at], wanted[(at + 1)..]);
        }

        int last = wanted.LastIndexOf(':');
        return (wanted[..last], wanted[(last + 1)..]);
    }

    private static GpioChip[] Named(string name, IReadOnlyList<GpioChip> chips)
    {
        GpioChip[] exact = [.. chips.Where(chip => name == chip.Name || name == chip.Path || chip.Aliases.Any(path => name == path || name == Path.GetFileName(path)))];
        if (exact.Length > 0)
            return exact;
        GpioChip[] numbered = int.TryParse(name, out int number) ? [.. chips.Where(chip => GpioChips.Number(chip.Name) == number || chip.Aliases.Any(path => GpioChips.Number(path) == number))] : [];
        return numbered.Length > 0 ? numbered : [.. chips.Where(chip => chip.Label == name)];
    }

    private static GpioLineInfo[] Lines(string name, GpioChip chip)
    {
        GpioLineInfo[] named = [.. chip.Lines.Where(line => line.Name == name)];
        return named.Length > 0 || !int.TryParse(name, out int offset) ? named : [.. chip.Lines.Where(line => line.Offset == offset)];
    }
}
