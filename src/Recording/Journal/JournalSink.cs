namespace Acquire.Recording;

/// <summary>Brings a journal's bytes to the disk, all of what it is given or nothing: after a failure the file is cut back to what was synced.</summary>
/// <param name="path">Where the file will be.</param>
/// <param name="open">Makes or opens it, when there is something to write for the first time; it is called again where it fails.</param>
/// <param name="length">How long it will be then.</param>
internal sealed class JournalSink(string path, Func<JournalFile> open, long length) : IDisposable
{
    private const int FirstRetryMs = 1000;
    private const int LongestRetryMs = 8000;
    private long _durableLength = length;
    private string? _trouble;
    private JournalFile? _file;

    public JournalSink(JournalFile file)
        : this(file.Path, () => file, file.Length) => _file = file;

    public string Path => Volatile.Read(ref _file)?.Path ?? path;

    /// <summary>Bytes that are on the disk for certain.</summary>
    public long DurableLength => Interlocked.Read(ref _durableLength);

    /// <summary>What is wrong with the disk and what to do, or null.</summary>
    public string? Trouble => Volatile.Read(ref _trouble);

    /// <summary>How long to wait after a failure, milliseconds: twice as long after each that follows.</summary>
    public int RetryAfterMs { get; private set; } = FirstRetryMs;

    public bool TryWrite(List<ArraySegment<byte>> parts)
    {
        long position = _durableLength;
        try
        {
            if (_file is null)
                Volatile.Write(ref _file, open());
            JournalFile file = _file!;
            foreach (ArraySegment<byte> part in parts)
            {
                file.Write(position, part);
                position += part.Count;
            }

            // Only what is synced is let go: after a sync that failed the system may have dropped what it had not written.
            file.Sync();
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            TakeBack(e);
            return false;
        }

        Interlocked.Exchange(ref _durableLength, position);
        Volatile.Write(ref _trouble, null);
        RetryAfterMs = FirstRetryMs;
        return true;
    }

    public void Dispose() => _file?.Dispose();

    private void TakeBack(Exception e)
    {
        try
        {
            _file?.Truncate(_durableLength);
        }
        catch (Exception again) when (again is IOException or UnauthorizedAccessException)
        {
            // The next attempt writes over the partial tail from the same place.
        }

        RetryAfterMs = Trouble is null ? FirstRetryMs : Math.Min(2 * RetryAfterMs, LongestRetryMs);
        Volatile.Write(
            ref _trouble,
            $"The journal {Path} cannot be written ({e.Message.TrimEnd('.')}). Data are kept in memory and the disk is tried again and again: "
            + "free some space or bring the disk back.");
    }
}
