using Acquire.Acquisition.Gpio;

namespace Acquire.Acquisition.Lines;

/// <summary>The formats of what sources deliver, and their decoders.</summary>
public static class SourceFormats
{
    /// <summary>Names of the formats of lines, as they are written in settings; the first is the usual one. Those of a GPIO line, which follow from how it is
    /// asked for, are <see cref="GpioEventDecoder.Formats"/>.</summary>
    public static IReadOnlyList<string> Names { get; } =
        [PulseLineDecoder.Format, PlainLineDecoder.TicksFormat, PlainLineDecoder.IntervalFormat, PlainLineDecoder.RpmFormat];

    /// <summary>Makes the decoder of a format.</summary>
    /// <param name="format">One of <see cref="Names"/> or of a GPIO line's.</param>
    /// <param name="tickHz">Ticks a second of the board's counter, for what does not say it of itself; more than 0. Not used for rpm and GPIO.</param>
    /// <exception cref="ArgumentException">There is no such format; the message names those there are.</exception>
    public static ISourceDecoder CreateDecoder(string format, double tickHz) => format switch
    {
        PulseLineDecoder.Format => new PulseLineDecoder(tickHz),
        PlainLineDecoder.TicksFormat or PlainLineDecoder.IntervalFormat or PlainLineDecoder.RpmFormat => new PlainLineDecoder(format, tickHz),
        _ when GpioEventDecoder.Formats.Contains(format) => new GpioEventDecoder(format),
        _ => throw new ArgumentException($"There is no format '{format}'. There are: {string.Join(", ", Names)}.", nameof(format)),
    };

    /// <summary>Makes a decoder that goes on where the one whose <see cref="ISourceDecoder.SaveState"/> gave the text had stopped; its counts begin
    /// at nothing.</summary>
    /// <exception cref="InvalidDataException">The text is no decoder's state.</exception>
    public static ISourceDecoder RestoreDecoder(string state)
    {
        DecoderState saved = DecoderState.FromJson(state);
        try
        {
            if (saved is { Format: PulseLineDecoder.Format, PulseLines: { } board })
                return new PulseLineDecoder(saved, board);
            if (saved.Gpio is { } line)
                return new GpioEventDecoder(saved, line);
            if (saved.PlainLines is { } plain && saved.Format != PulseLineDecoder.Format)
                return new PlainLineDecoder(saved, plain);
        }
        catch (Exception problem) when (problem is ArgumentException or FormatException or IndexOutOfRangeException)
        {
            throw new InvalidDataException($"A decoder's state does not make sense: {problem.Message}", problem);
        }

        throw new InvalidDataException($"A decoder's state of a known format was expected, '{saved.Format}' was found. There are: {string.Join(", ", Names)}.");
    }

    internal static void CheckTickHz(double tickHz)
    {
        if (!double.IsFinite(tickHz) || tickHz <= 0)
            throw new ArgumentOutOfRangeException(nameof(tickHz), tickHz, "Ticks a second must be more than 0.");
    }
}
