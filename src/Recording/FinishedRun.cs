using Acquire.Conditioning;
using Acquire.Motion;

namespace Acquire.Recording;

/// <summary>All that a package is written from.</summary>
public sealed class FinishedRun
{
    /// <summary>The descriptor.</summary>
    public required RunDescriptor Descriptor { get; init; }

    /// <summary>Every pulse received from the run's first on, in order, also those rejected.</summary>
    public required IReadOnlyList<JudgedPulse> Pulses { get; init; }

    /// <summary>Calibrated seconds a tick: 1 / (tick rate × (1 + rate)). The first pulse is at 0 s.</summary>
    public required double SecondsPerTick { get; init; }

    /// <summary>The even grid of speed.csv.</summary>
    public required IReadOnlyList<SpeedPoint> Speed { get; init; }

    /// <summary>The wobble; null where none was found.</summary>
    public Wobble? Wobble { get; init; }

    /// <summary>The air, in order of time; none where it was neither measured nor entered.</summary>
    public IReadOnlyList<EnvironmentPoint> Environment { get; init; } = [];

    /// <summary>What happened, in order of time.</summary>
    public required IReadOnlyList<RunEvent> Events { get; init; }
}
