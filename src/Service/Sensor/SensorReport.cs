using Acquire.Acquisition;

namespace Acquire.Service.Sensor;

/// <summary>What was seen of a sensor and its board in a watch.</summary>
/// <param name="Pulses">Pulses in the order in which they came.</param>
/// <param name="TickHz">Nominal ticks a second.</param>
/// <param name="WatchedS">How long the source was listened to, s.</param>
/// <param name="Lines">True where the source said anything that made sense, pulses or not.</param>
/// <param name="Counts">What was received and lost.</param>
/// <param name="LinkLosses">Times the link went away.</param>
public sealed record SensorView(
    IReadOnlyList<Pulse> Pulses, double TickHz, double WatchedS, bool Lines, SourceCounts Counts, int LinkLosses = 0);

/// <summary>What a sensor is held to.</summary>
/// <param name="Marks">Marks on the body, 1 to 8.</param>
/// <param name="MaxRpm">Faster than any launch, turns a minute.</param>
/// <param name="Turns">Whole turns that the body was turned by hand; null where nobody counted.</param>
public sealed record SensorAim(int Marks, double MaxRpm, int? Turns);

/// <summary>What can be wrong with a sensor, its mark or its line.</summary>
public enum SensorFault
{
    /// <summary>The source said nothing at all.</summary>
    Silent,

    /// <summary>What it said made no sense.</summary>
    Garbled,

    /// <summary>The board speaks and its sensor sees nothing.</summary>
    NothingSeen,

    /// <summary>Too few pulses to judge by.</summary>
    TooFew,

    /// <summary>Light of a mains lamp is taken for marks.</summary>
    Lamp,

    /// <summary>Pulses come at random.</summary>
    Irregular,

    /// <summary>Pulses follow each other faster than marks can.</summary>
    Bounce,

    /// <summary>Pulses repeat in another number than that of the marks.</summary>
    OtherMarks,

    /// <summary>Turned by hand as often as was said, it gave another number of pulses.</summary>
    OtherCount,

    /// <summary>The share of a turn that a mark takes is not the same from one to the next.</summary>
    UnsteadyWidth,

    /// <summary>The sensor sees the mark for most of the turn.</summary>
    WideMark,

    /// <summary>The mark takes a small share of the turn; a hint, no fault.</summary>
    NarrowMark,

    /// <summary>Lines came damaged.</summary>
    BadLines,

    /// <summary>Pulses were lost on the line.</summary>
    LostOnLine,

    /// <summary>The board had no room for pulses.</summary>
    DroppedByBoard,

    /// <summary>The board started anew.</summary>
    Restarted,

    /// <summary>The link went away.</summary>
    LinkLost,
}

/// <summary>The judgement of a sensor. Times in s; spreads are half the range that holds the middle 68 %, as a share of the median; NaN where there
/// is too little to tell.</summary>
public sealed record SensorReport
{
    /// <summary>True where nothing stands against a launch; a <see cref="SensorFault.NarrowMark"/> alone does not.</summary>
    public bool Fit => Faults.All(fault => fault == SensorFault.NarrowMark);

    /// <summary>What is wrong, the gravest first.</summary>
    public required IReadOnlyList<SensorFault> Faults { get; init; }

    /// <summary>What it was judged from.</summary>
    public required SensorView View { get; init; }

    /// <summary>What it was held to.</summary>
    public required SensorAim Aim { get; init; }

    /// <summary>Pulses a second over the whole watch.</summary>
    public double PulsesPerS { get; init; }

    /// <summary>Median time from one pulse to the next.</summary>
    public double IntervalS { get; init; } = double.NaN;

    /// <summary>Its spread over the whole watch.</summary>
    public double IntervalSpread { get; init; } = double.NaN;

    /// <summary>How much an interval differs from the one before: the 68 % point of |ln ratio|. Small for a body, 1.66 for pulses at random.</summary>
    public double IntervalStep { get; init; } = double.NaN;

    /// <summary>Median width; NaN where the source gives none.</summary>
    public double WidthS { get; init; } = double.NaN;

    /// <summary>Its spread.</summary>
    public double WidthSpread { get; init; } = double.NaN;

    /// <summary>Median share of the turn that a mark takes.</summary>
    public double TurnShare { get; init; } = double.NaN;

    /// <summary>Its spread.</summary>
    public double TurnShareSpread { get; init; } = double.NaN;

    /// <summary>Flashes a second of the lamp that is seen; null where none is.</summary>
    public double? LampHz { get; init; }

    /// <summary>Pulses after which widths or distances repeat; null where they do not differ enough to tell.</summary>
    public int? Repeat { get; init; }

    /// <summary>Pulses that came faster after another than a mark can.</summary>
    public int TooClose { get; init; }
}
