namespace Acquire.Motion;

/// <summary>What makes a run. Speeds in turns a second, times in seconds of the source's nominal clock.</summary>
public sealed record RunRules
{
    /// <summary>Nominal ticks a second.</summary>
    public required double TickHz { get; init; }

    /// <summary>Below this, or below a quarter of the peak if that is more, a spin may end by itself.</summary>
    public double StopBelowTurnsPerS { get; init; } = 5;

    /// <summary>How long marks must be away before a spin that slow has stopped, where other pulses show that the sensor still sees.</summary>
    public double StopWaitS { get; init; } = 30;

    /// <summary>How long at most where nothing shows that: until the body, if it spun on, would have
    /// become too slow to stand.</summary>
    public double UnseenWaitS { get; init; } = 300;

    /// <summary>How long marks that ceased at speed are waited for.</summary>
    public double LostWaitS { get; init; } = 900;

    /// <summary>A launch that never gets beyond these many turns and seconds is no run.</summary>
    public double LeastTurns { get; init; } = 10;

    /// <summary>See <see cref="LeastTurns"/>.</summary>
    public double LeastS { get; init; } = 3;

    /// <summary>Slower than this nothing counts as launched.</summary>
    public double LeastLaunchTurnsPerS { get; init; } = 1;

    /// <summary>The speed below which a spin with a given peak may end by itself, turns a second.</summary>
    public double MayEndBelow(double peakTurnsPerS) => Math.Max(StopBelowTurnsPerS, 0.25 * peakTurnsPerS);
}
