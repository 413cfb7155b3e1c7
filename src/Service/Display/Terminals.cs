using Spectre.Console;

namespace Acquire.Service.Display;

/// <summary>Makes consoles that write to one stream and honour NO_COLOR and TERM.</summary>
internal static class Terminals
{
    private const int EndlessColumns = 2000;

    /// <summary>A console over a stream.</summary>
    /// <param name="writer">The stream.</param>
    /// <param name="isTerminal">True where it is a terminal; else nothing but text is written, and no line is ever broken.</param>
    /// <param name="surroundings">The environment.</param>
    public static IAnsiConsole Make(TextWriter writer, bool isTerminal, Surroundings surroundings)
    {
        bool moves = CanMove(isTerminal, surroundings);
        bool colours = moves && surroundings.Variable("NO_COLOR") is null;
        IAnsiConsole console = AnsiConsole.Create(new AnsiConsoleSettings
        {
            Out = new AnsiConsoleOutput(writer),
            Ansi = moves ? AnsiSupport.Yes : AnsiSupport.No,
            ColorSystem = colours ? ColorSystemSupport.Detect : ColorSystemSupport.NoColors,
            Interactive = moves ? InteractionSupport.Yes : InteractionSupport.No,
            Enrichment = new ProfileEnrichment { UseDefaultEnrichers = false },
        });
        if (!isTerminal) console.Profile.Width = EndlessColumns;
        return console;
    }

    /// <summary>True where the cursor can be moved.</summary>
    public static bool CanMove(bool isTerminal, Surroundings surroundings) => isTerminal && surroundings.Variable("TERM") != "dumb";
}
