namespace Acquire.Motion;

/// <summary>What the run detector found.</summary>
public enum RunTransitionKind : byte
{
    /// <summary>A run began.</summary>
    Began,

    /// <summary>The hand let go.</summary>
    Released,

    /// <summary>Marks ceased.</summary>
    Lost,

    /// <summary>Marks came back.</summary>
    Back,

    /// <summary>The run ended.</summary>
    Ended,

    /// <summary>What had begun was too short to be a run.</summary>
    Dismissed,
}

/// <summary>Why a run ended, as far as the marks tell.</summary>
public enum RunEnd : byte
{
    /// <summary>It has not.</summary>
    None,

    /// <summary>The spin ended by itself.</summary>
    Stopped,

    /// <summary>Marks ceased at speed and did not come back.</summary>
    SignalLost,

    /// <summary>The source went away and did not come back.</summary>
    SourceLost,

    /// <summary>Ended by hand: the user's word, or a hand that spun the body up again.</summary>
    Operator,
}

/// <summary>A change of phase.</summary>
/// <param name="Kind">What changed.</param>
/// <param name="FirstPulse">Ordinal of the run's first pulse.</param>
/// <param name="LastPulse">Ordinal of the last pulse that belongs to it, so far.</param>
/// <param name="Ticks">When, in the source's ticks.</param>
/// <param name="End">Why it ended; none unless it did.</param>
public readonly record struct RunTransition(RunTransitionKind Kind, long FirstPulse, long LastPulse, long Ticks, RunEnd End);
