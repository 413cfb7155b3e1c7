namespace Acquire.Motion;

/// <summary>Something that happened in a run.</summary>
/// <param name="TimeS">Seconds since the first pulse of the run, on the calibrated clock.</param>
/// <param name="Event">What: one of the constants of <see cref="RunEventNames"/>.</param>
/// <param name="Detail">More for people, or empty.</param>
public readonly record struct RunEvent(double TimeS, string Event, string Detail);

/// <summary>The words that events.csv uses.</summary>
public static class RunEventNames
{
    /// <summary>The first pulse of the launch.</summary>
    public const string Launch = "launch";

    /// <summary>The speed peaked and the hand let go.</summary>
    public const string Release = "release";

    /// <summary>Marks ceased at a speed at which no spin ends by itself.</summary>
    public const string SignalLost = "signal lost";

    /// <summary>Marks came back as predicted.</summary>
    public const string SignalBack = "signal back";

    /// <summary>The board started anew.</summary>
    public const string BoardRestarted = "board restarted";

    /// <summary>The port went away.</summary>
    public const string PortLost = "port lost";

    /// <summary>The port came back.</summary>
    public const string PortBack = "port back";

    /// <summary>The capture was cut short and went on in the same run.</summary>
    public const string CaptureInterrupted = "capture interrupted";

    /// <summary>The disk was full or failed; data waited in memory.</summary>
    public const string DiskTrouble = "disk trouble";

    /// <summary>The disk took data again.</summary>
    public const string DiskBack = "disk back";

    /// <summary>Bytes from the source found no room in memory or on the disk.</summary>
    public const string DataLost = "data lost";

    /// <summary>A sensor of the air failed or gave nonsense, which is left out.</summary>
    public const string AirLost = "air sensor lost";

    /// <summary>The sensor of the air was read again.</summary>
    public const string AirBack = "air sensor back";

    /// <summary>The host's clock was set during the run, and the run's start was corrected by it.</summary>
    public const string ClockSet = "clock set";

    /// <summary>The body seems to have another number of marks than was set.</summary>
    public const string MarksLookWrong = "marks look wrong";

    /// <summary>The spin ended.</summary>
    public const string Stop = "stop";
}
