namespace Acquire.Motion;

/// <summary>The phases of a run.</summary>
public enum RunPhase : byte
{
    /// <summary>Nothing spins.</summary>
    Waiting,

    /// <summary>A hand speeds the body up.</summary>
    Launching,

    /// <summary>The body spins freely.</summary>
    Spinning,

    /// <summary>Marks ceased and may come back.</summary>
    Lost,

    /// <summary>The run is over.</summary>
    Ended,
}
