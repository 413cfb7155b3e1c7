using System.Text;

namespace Acquire.Service.Display;

/// <summary>Digits three lines high, drawn with half blocks.</summary>
internal static class BigDigits
{
    /// <summary>Lines that a number takes.</summary>
    public const int Lines = 3;

    // Six rows of points each; two rows make one line of half blocks.
    private static readonly Dictionary<char, string[]> Shapes = new()
    {
        ['0'] = [" ## ", "#  #", "#  #", "#  #", "#  #", " ## "],
        ['1'] = [" # ", "## ", " # ", " # ", " # ", "###"],
        ['2'] = ["### ", "   #", "  # ", " #  ", "#   ", "####"],
        ['3'] = ["### ", "   #", " ## ", "   #", "   #", "### "],
        ['4'] = ["#  #", "#  #", "#  #", "####", "   #", "   #"],
        ['5'] = ["####", "#   ", "### ", "   #", "   #", "### "],
        ['6'] = [" ## ", "#   ", "### ", "#  #", "#  #", " ## "],
        ['7'] = ["####", "   #", "  # ", "  # ", " #  ", " #  "],
        ['8'] = [" ## ", "#  #", " ## ", "#  #", "#  #", " ## "],
        ['9'] = [" ## ", "#  #", "#  #", " ###", "   #", " ## "],
        ['.'] = [" ", " ", " ", " ", " ", "#"],
        ['–'] = ["    ", "    ", "####", "    ", "    ", "    "],
    };

    /// <summary>Draws a text of digits, points and dashes; other signs are left out.</summary>
    /// <returns>Three lines of the same length.</returns>
    public static string[] Draw(string text)
    {
        var lines = new StringBuilder[Lines];
        for (int i = 0; i < Lines; i++) lines[i] = new StringBuilder();
        foreach (char sign in text)
        {
            if (!Shapes.TryGetValue(sign, out string[]? shape)) continue;
            for (int line = 0; line < Lines; line++)
            {
                if (lines[line].Length > 0) lines[line].Append(' ');
                for (int x = 0; x < shape[0].Length; x++)
                    lines[line].Append(Block(shape[2 * line][x] == '#', shape[(2 * line) + 1][x] == '#'));
            }
        }

        return [.. lines.Select(l => l.ToString())];
    }

    private static char Block(bool upper, bool lower) => (upper, lower) switch
    {
        (true, true) => '█',
        (true, false) => '▀',
        (false, true) => '▄',
        _ => ' ',
    };
}
