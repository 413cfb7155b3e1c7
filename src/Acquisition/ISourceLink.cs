namespace Acquire.Acquisition;

/// <summary>An open serial port or GPIO line. One thread reads; any thread may wake or dispose. Nothing here ever waits longer than it was told.</summary>
public interface ISourceLink : IDisposable
{
    /// <summary>For people: what it is.</summary>
    string Name { get; }

    /// <summary>Waits for bytes and takes those that are there.</summary>
    /// <param name="into">Where they go; not empty.</param>
    /// <param name="timeoutMs">The longest wait, milliseconds of real time; 0 only looks.</param>
    /// <param name="count">Bytes taken; 0 unless the result is <see cref="LinkRead.Data"/>.</param>
    LinkRead Read(Span<byte> into, int timeoutMs, out int count);

    /// <summary>Makes the read that is under way, or else the next one, return without waiting.</summary>
    void Wake();
}
