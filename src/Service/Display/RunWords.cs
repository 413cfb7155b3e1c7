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

    /// <summary>The constant of a wobble with its standard uncertainty, and what it makes of the rate at the highest speed.</summary>
    public static string Wobble(RunWobble wobble, double peakRpm)
    {
        int decimals = wobble.UConstantPerS2 > 0 && double.IsFinite(wobble.UConstantPerS2) ? Math.Clamp(1 - (int)Math.Floor(Math.Log10(wobble.UConstantPerS2)), 0, 9) : 3;
        string format = "F" + decimals.ToString(CultureInfo.InvariantCulture);
        string constant = $"{wobble.ConstantPerS2.ToString(format, CultureInfo.InvariantCulture)} ± {wobble.UConstantPerS2.ToString(format, CultureInfo.InvariantCulture)}";
        return $"precession rate times speed {constant} 1/s²" + (peakRpm > 0 ? Text($": {wobble.ConstantPerS2 / (peakRpm / 60):F3} Hz at the peak") : "");
    }

    /// <summary>That the body seems to have another number of marks than was set; empty where it has not or the pulses do not tell.</summary>
    public static string MarksLookWrong(RunDescriptor run) => run.Counts.MarksSeen is > 0 and int seen && seen != run.Source.MarksPerTurn
        ? Text($"your --marks looks wrong: {seen} seen")
        : "";

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
