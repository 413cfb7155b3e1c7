namespace Acquire.Service.Display;

/// <summary>Text from outside on the way to a terminal.</summary>
internal static class Lines
{
    /// <summary>The text with blanks for control characters, which could move the terminal's cursor or break a table's row.</summary>
    public static string OneLine(string text) => string.Concat(text.Select(c => char.IsControl(c) ? ' ' : c));
}
