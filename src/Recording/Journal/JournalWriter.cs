using System.Text.Json;
using Acquire.Acquisition;

namespace Acquire.Recording;

/// <summary>Appends to a journal. Appending copies into bounded memory and never waits for the disk; a thread of the writer's own
/// writes and syncs at least once a second of real time. While the disk fails, data stay in memory, the thread tries again each
/// second, and <see cref="Trouble"/> says so. Safe to call from any thread.</summary>
public sealed class JournalWriter : IDisposable
{
    /// <summary>Memory that may wait for the disk unless another limit is given: 64 MiB.</summary>
    public const long DefaultLimitBytes = 64L << 20;

    /// <summary>The longest payload of one record, bytes.</summary>
    public const int MaxPayloadBytes = JournalFormat.MaxPayloadBytes;

    private const int WriteEveryMs = 700; // leaves 0.3 s of the promised second for the disk
    private const int RetryEveryMs = 1000;
    private const long HurryBytes = 1 << 20;
    private static readonly TimeSpan DisposeWait = TimeSpan.FromSeconds(5);

    private readonly object _gate = new();
    private readonly JournalFile _file;
    private readonly JournalBuffer _buffer;
    private readonly Thread _thread;
    private long _durableLength;
    private long _appendedBytes;
    private long _bytesLost;
    private long _lossToNote;
    private bool _hurry;
    private bool _closing;
    private bool _closed;
    private string? _trouble;

    private JournalWriter(JournalFile file, long limitBytes)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(limitBytes, 4L << 20);
        _file = file;
        _buffer = new JournalBuffer(limitBytes);
        _durableLength = file.Length;
        _appendedBytes = _durableLength;
        _thread = new Thread(WriteUntilClosed) { IsBackground = true, Name = "journal" };
    }

    /// <summary>Path of the journal.</summary>
    public string Path => _file.Path;

    /// <summary>Length of the journal in bytes once all that was appended is written.</summary>
    public long AppendedBytes => Interlocked.Read(ref _appendedBytes);

    /// <summary>Payload bytes that found no room in memory; after <see cref="Dispose"/> also the bytes that the disk never took.</summary>
    public long BytesLost => Interlocked.Read(ref _bytesLost);

    /// <summary>Bytes of the journal that are on the disk for certain.</summary>
    public long DurableBytes => Interlocked.Read(ref _durableLength);

    /// <summary>Sign of life of the thread that writes: moves on at least every second, unless a write to the disk does not return.</summary>
    public Heartbeat Beat { get; } = new();

    /// <summary>What is wrong with the disk and what to do, or null.</summary>
    public string? Trouble => Volatile.Read(ref _trouble);

    /// <summary>Makes a new journal and begins it with <paramref name="start"/>. Makes the folder where there is none.</summary>
    /// <exception cref="IOException">The file exists already or cannot be made.</exception>
    public static JournalWriter Create(string path, JournalStart start, TimeProvider time, long limitBytes = DefaultLimitBytes)
    {
        string full = System.IO.Path.GetFullPath(path);
        string folder = System.IO.Path.GetDirectoryName(full) ?? full;
        Directory.CreateDirectory(folder);
        var file = new JournalFile(full, FileMode.CreateNew);
        DurableFolder.Sync(folder);
        return Begin(file, start, time, limitBytes);
    }

    /// <summary>Opens a journal that an earlier capture left, to append to it (that it was recovered, that a run was packaged). A torn
    /// tail is kept as it is: readers step over it and count it.</summary>
    /// <exception cref="IOException">The file is missing or cannot be opened.</exception>
    public static JournalWriter Reopen(string path, long limitBytes = DefaultLimitBytes)
    {
        var file = new JournalFile(System.IO.Path.GetFullPath(path), FileMode.Open);
        if (file.Length < JournalFormat.FileHeaderBytes)
            file.Truncate(0); // cut within the header of the file: nothing to keep, and records cannot follow half a header
        return Begin(file, limitBytes);
    }

    internal static JournalWriter Begin(JournalFile file, JournalStart start, TimeProvider time, long limitBytes)
    {
        JournalWriter writer = Begin(file, limitBytes);
        writer.TryAppend(time.MonotonicNs(), start);
        return writer;
    }

    /// <summary>Appends a block of a source.</summary>
    /// <returns>False where there was no room; counted in <see cref="BytesLost"/>.</returns>
    public bool TryAppend(in SourceBlock block) => TryAppend((JournalEntryKind)block.Kind, block.HostNs, block.Payload);

    /// <summary>Appends a record.</summary>
    /// <param name="kind">What it holds.</param>
    /// <param name="hostNs">When it happened, nanoseconds of the host's monotonic clock.</param>
    /// <param name="payload">At most <see cref="MaxPayloadBytes"/>.</param>
    /// <returns>False where there was no room; counted in <see cref="BytesLost"/>.</returns>
    public bool TryAppend(JournalEntryKind kind, long hostNs, ReadOnlySpan<byte> payload)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThan(payload.Length, MaxPayloadBytes);
        ArgumentOutOfRangeException.ThrowIfZero((byte)kind, nameof(kind));
        ArgumentOutOfRangeException.ThrowIfGreaterThan((byte)kind, 127, nameof(kind));
        lock (_gate)
        {
            ObjectDisposedException.ThrowIf(_closing, this);
            if (_lossToNote > 0 ? !TryPutWithNote(kind, hostNs, payload) : !TryPut(kind, hostNs, payload))
            {
                Interlocked.Add(ref _bytesLost, payload.Length);
                _lossToNote += payload.Length;
                return false;
            }

            if (_buffer.WaitingBytes > HurryBytes && !_hurry)
                Hurry();
            return true;
        }
    }

    /// <summary>Appends that a journal starts here.</summary>
    public bool TryAppend(long hostNs, JournalStart entry) => TryAppendJson(JournalEntryKind.Start, hostNs, entry);

    /// <summary>Appends that a run began.</summary>
    public bool TryAppend(long hostNs, RunBegan entry) => TryAppendJson(JournalEntryKind.RunBegan, hostNs, entry);

    /// <summary>Appends that a run ended.</summary>
    public bool TryAppend(long hostNs, RunEnded entry) => TryAppendJson(JournalEntryKind.RunEnded, hostNs, entry);

    /// <summary>Appends that a run is in the library.</summary>
    public bool TryAppend(long hostNs, RunPackaged entry) => TryAppendJson(JournalEntryKind.RunPackaged, hostNs, entry);

    /// <summary>Appends that a run is in the library.</summary>
    public bool TryAppend(long hostNs, RunDismissed entry) => TryAppendJson(JournalEntryKind.RunDismissed, hostNs, entry);

    /// <summary>Appends wall-clock time.</summary>
    public bool TryAppend(long hostNs, UtcAnchor entry) => TryAppendJson(JournalEntryKind.UtcAnchor, hostNs, entry);

    /// <summary>Appends a fit of the source's clock.</summary>
    public bool TryAppend(long hostNs, ClockFitted entry) => TryAppendJson(JournalEntryKind.ClockFit, hostNs, entry);

    /// <summary>Appends a note.</summary>
    public bool TryAppend(long hostNs, JournalNote entry) => TryAppendJson(JournalEntryKind.Note, hostNs, entry);

    /// <summary>Appends that the capture was ended in order.</summary>
    public bool TryAppend(long hostNs, CaptureEnded entry) => TryAppendJson(JournalEntryKind.CaptureEnded, hostNs, entry);

    /// <summary>Waits until all that was appended so far is on the disk.</summary>
    /// <param name="atMost">The longest wait, real time; 5 s unless given.</param>
    /// <returns>False where the disk did not take it in that time.</returns>
    public bool Flush(TimeSpan? atMost = null)
    {
        TimeSpan limit = atMost ?? DisposeWait;
        long began = TimeProvider.System.GetTimestamp();
        lock (_gate)
        {
            long target = _appendedBytes;
            if (_durableLength < target)
                Hurry();
            while (_durableLength < target)
            {
                TimeSpan left = limit - TimeProvider.System.GetElapsedTime(began);
                if (_closed || left <= TimeSpan.Zero)
                    return false;
                Monitor.Wait(_gate, left);
            }

            return true;
        }
    }

    /// <summary>Writes what waits, for at most 5 s where the disk fails, and closes the file.</summary>
    public void Dispose()
    {
        lock (_gate)
        {
            if (_closing)
                return;
            Flush(DisposeWait);
            _closing = true;
            Monitor.PulseAll(_gate);
        }

        bool stopped = _thread.Join(DisposeWait);
        Interlocked.Add(ref _bytesLost, _buffer.WaitingBytes);
        if (stopped)
            _file.Dispose();
    }

    private static JournalWriter Begin(JournalFile file, long limitBytes)
    {
        var writer = new JournalWriter(file, limitBytes);
        if (file.Length == 0)
        {
            byte[] header = JournalFormat.FileHeader();
            header.CopyTo(writer._buffer.Reserve(header.Length));
            writer._appendedBytes += header.Length;
        }

        writer._thread.Start();
        return writer;
    }

    private bool TryAppendJson<T>(JournalEntryKind kind, long hostNs, T entry) =>
        TryAppend(kind, hostNs, JsonSerializer.SerializeToUtf8Bytes(entry, JournalJson.Of<T>()));

    private bool TryPut(JournalEntryKind kind, long hostNs, ReadOnlySpan<byte> payload)
    {
        Span<byte> room = _buffer.Reserve(JournalFormat.FrameBytes + payload.Length);
        if (room.IsEmpty)
            return false;
        JournalFormat.Encode(room, (byte)kind, hostNs, payload);
        Interlocked.Add(ref _appendedBytes, room.Length);
        return true;
    }

    /// <summary>Says where bytes are missing, in front of the first record that finds room again; both or neither.</summary>
    private bool TryPutWithNote(JournalEntryKind kind, long hostNs, ReadOnlySpan<byte> payload)
    {
        var note = new JournalNote("The disk was too slow or failed, and memory was full: bytes from the source are missing here.", _lossToNote);
        byte[] text = JsonSerializer.SerializeToUtf8Bytes(note, JournalJson.Of<JournalNote>());
        int noteBytes = JournalFormat.FrameBytes + text.Length;
        Span<byte> room = _buffer.Reserve(noteBytes + JournalFormat.FrameBytes + payload.Length);
        if (room.IsEmpty)
            return false;
        JournalFormat.Encode(room, (byte)JournalEntryKind.Note, hostNs, text);
        JournalFormat.Encode(room[noteBytes..], (byte)kind, hostNs, payload);
        Interlocked.Add(ref _appendedBytes, room.Length);
        _lossToNote = 0;
        return true;
    }

    private void Hurry()
    {
        _hurry = true;
        Monitor.PulseAll(_gate);
    }

    private void WriteUntilClosed()
    {
        int waitMs = WriteEveryMs;
        while (true)
        {
            List<ArraySegment<byte>> parts;
            Beat.Beat();
            lock (_gate)
            {
                // A failing disk is given its second whatever the hurry.
                if (!_closing && (!_hurry || waitMs == RetryEveryMs))
                    Monitor.Wait(_gate, waitMs);
                _hurry = false;
                if (_closing)
                    break;
                parts = _buffer.Snapshot();
            }

            waitMs = parts.Count == 0 || TryWrite(parts) ? WriteEveryMs : RetryEveryMs;
        }

        lock (_gate)
        {
            _closed = true;
            Monitor.PulseAll(_gate);
        }
    }

    private bool TryWrite(List<ArraySegment<byte>> parts)
    {
        long position = _durableLength;
        try
        {
            foreach (ArraySegment<byte> part in parts)
            {
                _file.Write(position, part);
                position += part.Count;
            }

            // Only what is synced is let go: after a sync that failed the system may have dropped what it had not written.
            _file.Sync();
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            TakeBack(e);
            return false;
        }

        lock (_gate)
        {
            _buffer.Release(position - _durableLength);
            Interlocked.Exchange(ref _durableLength, position);
            Volatile.Write(ref _trouble, null);
            Monitor.PulseAll(_gate);
        }

        return true;
    }

    private void TakeBack(Exception e)
    {
        try
        {
            _file.Truncate(_durableLength);
        }
        catch (Exception again) when (again is IOException or UnauthorizedAccessException)
        {
            // The next attempt writes over the partial tail from the same place.
        }

        Volatile.Write(
            ref _trouble,
            $"The journal {Path} cannot be written ({e.Message.TrimEnd('.')}). Data are kept in memory and the disk is tried each second: "
            + "free some space or bring the disk back.");
    }
}
