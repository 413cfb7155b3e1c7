namespace Acquire.Acquisition;

/// <summary>Where pulses come from. A source delivers blocks as they arrive and never judges them; a link that goes away is a
/// block of its own, not an exception, and the source keeps trying to get it back.</summary>
public interface IPulseSource : IDisposable
{
    /// <summary>The kind as the run's descriptor names it: <c>serial</c>, <c>gpio</c>, <c>simulation</c>.</summary>
    string Kind { get; }

    /// <summary>For people: the port, the line, the scenario.</summary>
    string Detail { get; }

    /// <summary>The blocks, in order, completed when the source has ended for good.</summary>
    BlockRing Blocks { get; }

    /// <summary>Sign of life of the thread that reads: moves on at least every 6 s, also while nothing comes and while the link is away.
    /// Null where there is no such thread.</summary>
    Heartbeat? ReaderBeat => null;

    /// <summary>Why the link is not there now, and what to do; null while it is there, before the first attempt, and for a source without one.</summary>
    LinkProblem? Problem => null;

    /// <summary>Begins to deliver. Called once.</summary>
    void Start();

    /// <summary>Sends a question to the source and puts a block of kind <see cref="SourceBlockKind.Asked"/> with the moment before
    /// sending into the queue. Does nothing where there is no link or the source cannot be asked.</summary>
    void Ask(ReadOnlySpan<byte> question);
}
