using System.Globalization;
using Acquire.Acquisition.Gpio;
using Acquire.Service.Commands;
using Acquire.Service.Display;

namespace Acquire.Service.Capture;

/// <summary>Prints the GPIO lines that this computer has.</summary>
internal static class GpioList
{
    /// <summary>The word that asks for it in place of a line.</summary>
    public const string Word = "list";

    /// <summary>Prints them.</summary>
    /// <returns>One of <see cref="ExitCode"/>: <see cref="ExitCode.No"/> where there is no line that may be seen.</returns>
    public static int Print(Surroundings surroundings) => Print(surroundings, GpioChips.List());

    internal static int Print(Surroundings surroundings, IReadOnlyList<GpioChip> chips)
    {
        var table = new TextTable("chip", "label", "line", "name", "held by");
        table.AlignRight("line");
        foreach ((GpioChip chip, GpioLineInfo line) in chips.SelectMany(chip => chip.Lines.Select(line => (chip, line))))
        {
            string holder = line.IsUsed ? line.Consumer.Length > 0 ? line.Consumer : "not told" : "";
            table.Add(chip.Name, chip.Label, line.Offset.ToString(CultureInfo.InvariantCulture), line.Name, holder);
        }

        bool any = chips.Any(chip => chip.Lines.Count > 0);
        if (any)
            table.Write(surroundings);
        foreach (GpioChip chip in chips.Where(chip => chip.Problem is not null))
            surroundings.Error.WriteLine("acquire: " + chip.Problem!.Message);
        if (chips.Count == 0)
            surroundings.Error.WriteLine("acquire: no GPIO chip is here: this computer has none, or its driver is not loaded.");
        return any ? ExitCode.Done : ExitCode.No;
    }
}
