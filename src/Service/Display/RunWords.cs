using System.Globalization;
using Acquire.Recording;

namespace Acquire.Service.Display;

/// <summary>What a run says of itself in a sentence, in its events and where it is shown.</summary>
internal static class RunWords
{
    /// <summary>That nothing was seen of the end, and by when it must have come; empty where it was seen or the run does not say.</summary>
    public static string EndUnseen(RunStop? stop)
    {
        if (stop is not { Witnessed: false }) return "";
        string last = Text($"nothing was seen after the last mark at {stop.LastMarkS:F1} s");
        return stop.LatestS is { } latest ? last + Text($"; if the sensor was blocked the spin ended no later than {latest:F1} s") : last;
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
