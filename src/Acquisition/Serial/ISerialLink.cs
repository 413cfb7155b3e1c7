namespace Acquire.Acquisition.Serial;

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

/// <summary>An open serial port. One thread reads; any thread may write, wake or dispose. Nothing here ever waits longer than it was told.</summary>
public interface ISerialLink : IDisposable
{
    /// <summary>For people: the port's path and what opened it.</summary>
    string Name { get; }

    /// <summary>Waits for bytes and takes those that are there.</summary>
    /// <param name="into">Where they go; not empty.</param>
    /// <param name="timeoutMs">The longest wait, milliseconds of real time; 0 only looks.</param>
    /// <param name="count">Bytes taken; 0 unless the result is <see cref="LinkRead.Data"/>.</param>
    LinkRead Read(Span<byte> into, int timeoutMs, out int count);

    /// <summary>Sends all of <paramref name="bytes"/>.</summary>
    /// <returns>False where the link is gone or took none of them for a fifth of a second.</returns>
    bool Write(ReadOnlySpan<byte> bytes);

    /// <summary>Makes the read that is under way, or else the next one, return without waiting.</summary>
    void Wake();
}
