namespace Acquire.Acquisition;

/// <summary>What came of a read.</summary>
public enum LinkRead
{
    /// <summary>Nothing came: the time was over or the link was woken.</summary>
    Nothing,

    /// <summary>Bytes came.</summary>
    Data,

    /// <summary>The link is gone for good (unplugged, hung up or closed): dispose of it.</summary>
    Gone,
}
