namespace Acquire.Acquisition.Clock;

/// <summary>What is known of a board's clock against the host's.</summary>
/// <param name="RatePpm">How fast the board's clock runs, mean over the window, parts per million of its nominal rate: positive where
/// it counts more ticks than it should.</param>
/// <param name="URatePpm">Standard uncertainty of that, so that ±1.96 of it is a 95 % interval also where few samples were to be had.</param>
/// <param name="Samples">Lines and answers that went into it.</param>
/// <param name="Method">How it was found.</param>
/// <param name="WindowS">Time that the samples span, s of the board's clock at its nominal rate.</param>
/// <param name="LineHolds">False where the samples depart from one straight line more than chance allows (the rate drifts); the
/// uncertainty then includes the drift.</param>
/// <param name="ReferenceTicks">A tick of the present segment, and</param>
/// <param name="ReferenceHostNs">the host's monotonic time, ns, that goes with it. From one-way lines alone it is later than the truth by
/// the least delay.</param>
/// <param name="TickHz">Nominal ticks a second.</param>
public readonly record struct ClockEstimate(
    double RatePpm, double URatePpm, long Samples, ClockMethod Method, double WindowS, bool LineHolds,
    long ReferenceTicks, long ReferenceHostNs, double TickHz)
{
    /// <summary>Limits of a ceramic resonator that nothing is known of, ppm either way (0.5 %).</summary>
    public const double ResonatorLimitPpm = 5000;

    /// <summary>Standard uncertainty of a rate within those limits taken as a rectangle (JCGM 100:2008, 4.3.7), ppm.</summary>
    public static readonly double UnknownPpm = ResonatorLimitPpm / Math.Sqrt(3);

    /// <summary>Of a source whose ticks are nanoseconds of the host's monotonic clock.</summary>
    public static readonly ClockEstimate OfHost = new(0, 0, 0, ClockMethod.HostClock, 0, true, 0, 0, 1e9);

    /// <summary>True seconds in one of the board's nominal seconds.</summary>
    public double SecondsPerNominal => 1 / (1 + (RatePpm * 1e-6));

    /// <summary>The host's monotonic time that goes with a tick of the present segment, ns.</summary>
    public long HostNs(long ticks) =>
        ReferenceHostNs + (long)Math.Round((ticks - ReferenceTicks) / TickHz * SecondsPerNominal * 1e9);
}

/// <summary>How a clock's rate was found.</summary>
public enum ClockMethod : byte
{
    /// <summary>Too little to go by: the nominal rate, within a resonator's limits.</summary>
    Nominal,

    /// <summary>The earliest arrivals of lines.</summary>
    OneWay,

    /// <summary>Questions for the time and their answers.</summary>
    TwoWay,

    /// <summary>Both, weighted.</summary>
    Both,

    /// <summary>Nothing had to be found: the ticks are the host's own clock.</summary>
    HostClock,
}
