namespace Acquire.Acquisition;

/// <summary>What a block is about.</summary>
public enum SourceBlockKind : byte
{
    /// <summary>Bytes as they came from the source in one read.</summary>
    Bytes = 1,

    /// <summary>Bytes that the host sent to the source (a question).</summary>
    Asked = 2,

    /// <summary>The link went away; the payload is a UTF-8 text for people.</summary>
    LinkLost = 3,

    /// <summary>The link is there (again); the payload is a UTF-8 text for people, the link's name.</summary>
    LinkBack = 4,
}

/// <summary>One read from a source, or one thing that happened to its link: the unit of the journal.</summary>
public readonly ref struct SourceBlock(SourceBlockKind kind, long hostNs, ReadOnlySpan<byte> payload)
{
    /// <summary>What the block is about.</summary>
    public SourceBlockKind Kind { get; } = kind;

    /// <summary>When it was read or happened, in nanoseconds of the host's monotonic clock.</summary>
    public long HostNs { get; } = hostNs;

    /// <summary>The bytes; valid only until the next call on what gave the block.</summary>
    public ReadOnlySpan<byte> Payload { get; } = payload;
}
