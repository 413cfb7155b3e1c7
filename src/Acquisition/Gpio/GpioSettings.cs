namespace Acquire.Acquisition.Gpio;

/// <summary>Which edge of the line is a mark's leading one.</summary>
public enum GpioEdge : byte
{
    /// <summary>High to low: a sensor that pulls its output down on the mark.</summary>
    Falling,

    /// <summary>Low to high.</summary>
    Rising,
}

/// <summary>What pulls the line where nothing drives it.</summary>
public enum GpioBias : byte
{
    /// <summary>The chip's own resistor to its supply, for outputs that only pull down. A chip without one passes over the wish.</summary>
    PullUp,

    /// <summary>The chip's own resistor to ground.</summary>
    PullDown,

    /// <summary>Neither: the sensor drives both levels or has a resistor of its own.</summary>
    None,
}

/// <summary>A GPIO line and how to ask for it.</summary>
public sealed record GpioSettings
{
    /// <summary>The line, <c>CHIP:LINE</c>: a chip's name, number, label or path, and a line's number on the chip or its name.</summary>
    public required string Line { get; init; }

    /// <summary>A mark's leading edge.</summary>
    public GpioEdge Edge { get; init; }

    /// <summary>Ask for the trailing edge too, for the width of each pulse. The kernel then tells rising from falling by the level that it reads
    /// a little later: where edges follow each other faster than that, they may be taken for each other.</summary>
    public bool Widths { get; init; }

    /// <summary>What pulls the line.</summary>
    public GpioBias Bias { get; init; }

    /// <summary>The format of what a line so set delivers, for <see cref="Lines.SourceFormats"/>.</summary>
    public string Format => GpioEventDecoder.FormatOf(Edge, Widths);

    /// <summary>True where a text has the form <c>CHIP:LINE</c>.</summary>
    public static bool IsLine(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        int at = text.LastIndexOf(':');
        return at > 0 && at < text.Length - 1 && !text.Any(c => char.IsWhiteSpace(c) && c != ' ');
    }
}
