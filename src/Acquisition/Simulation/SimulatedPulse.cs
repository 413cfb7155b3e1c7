namespace Acquire.Acquisition.Simulation;

/// <summary>What made a pulse.</summary>
public enum PulseOrigin : byte
{
    /// <summary>A mark on the body.</summary>
    Mark,

    /// <summary>A bright place at a fixed angle of the body.</summary>
    FixedGlint,

    /// <summary>A reflection at a random moment.</summary>
    RandomGlint,

    /// <summary>A further edge of a mark that bounced.</summary>
    Bounce,

    /// <summary>Light of a mains lamp.</summary>
    Lamp,

    /// <summary>The fallen body, rolling.</summary>
    Rolling,

    /// <summary>The hand, before the launch.</summary>
    Hand,
}

/// <summary>A pulse as the sensor gave it, with the truth beside it.</summary>
/// <param name="TimeS">Leading edge, s of the scenario.</param>
/// <param name="WidthS">Leading to trailing edge, s.</param>
/// <param name="Origin">What made it.</param>
/// <param name="Mark">For a mark or its bounce the number of the mark since the start of the scenario, counting those that were
/// missed: turn × marks a turn + place. −1 for anything else.</param>
public readonly record struct SimulatedPulse(double TimeS, double WidthS, PulseOrigin Origin, long Mark);

/// <summary>A pulse as the board counts it, with the truth beside it.</summary>
/// <param name="Pulse">Ticks unwrapped, width, sequence number.</param>
/// <param name="Truth">What it was.</param>
public readonly record struct BoardPulse(Pulse Pulse, SimulatedPulse Truth);
