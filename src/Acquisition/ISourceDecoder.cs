namespace Acquire.Acquisition;

/// <summary>Turns a source's blocks into events. Deterministic: the same blocks give the same events, live or from a journal.</summary>
public interface ISourceDecoder
{
    /// <summary>Nominal ticks a second of the source's counter; what it says of itself once it has, else as configured.</summary>
    double TickHz { get; }

    /// <summary>True where the ticks are nanoseconds of the host's own monotonic clock: then there is no rate to be found, and no uncertainty of one.</summary>
    bool IsHostClock => false;

    /// <summary>What the source says that it is, for people; empty until it has said so.</summary>
    string BoardName { get; }

    /// <summary>True when <paramref name="hostNs"/> is a moment at which the host should ask the source who it is.</summary>
    bool WantsName(long hostNs);

    /// <summary>Totals since the decoder was made.</summary>
    SourceCounts Counts { get; }

    /// <summary>Decodes one block and appends what it says to <paramref name="events"/>. Bad input is counted, never thrown.</summary>
    void Decode(in SourceBlock block, List<SourceEvent> events);

    /// <summary>Says that no further block will come, and appends what waited for one.</summary>
    void Finish(List<SourceEvent> events)
    {
    }

    /// <summary>All that it needs to go on later, for a journal that begins in mid-stream: a decoder restored from it gives the same events
    /// for the blocks that follow. Counts are not in it.</summary>
    string SaveState();
}
