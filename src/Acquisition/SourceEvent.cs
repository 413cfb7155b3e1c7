namespace Acquire.Acquisition;

/// <summary>What a source can say.</summary>
public enum SourceEventKind : byte
{
    /// <summary>An edge was seen.</summary>
    Pulse,

    /// <summary>The source is alive and tells its counter; no edge.</summary>
    Status,

    /// <summary>The source named itself for the first time.</summary>
    BoardNamed,

    /// <summary>The source started anew: its counter began again and has been joined to what went before.</summary>
    BoardRestarted,

    /// <summary>The source answered a question for its time.</summary>
    TimeAnswer,

    /// <summary>The link went away (cable, hub, another program).</summary>
    LinkLost,

    /// <summary>The link is back.</summary>
    LinkBack,
}

/// <summary>One thing that a source said, decoded, in the order in which it was said.</summary>
/// <param name="Kind">What was said.</param>
/// <param name="Pulse">The pulse; for a status or an answer only its ticks count (the counter at that moment).</param>
/// <param name="HostNs">When the bytes arrived, in nanoseconds of the host's monotonic clock.</param>
/// <param name="AskedNs">For a <see cref="SourceEventKind.TimeAnswer"/> when the question was sent, same clock; else 0.</param>
public readonly record struct SourceEvent(SourceEventKind Kind, Pulse Pulse, long HostNs, long AskedNs);
