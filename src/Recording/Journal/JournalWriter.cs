using System.Text.Json;
using Acquire.Acquisition;
using Acquire.Motion;

namespace Acquire.Recording;

/// <summary>Appends to a journal. Appending copies into bounded memory and never waits for the disk; a thread of the writer's own
/// writes and syncs at least once a second of real time. While the disk fails, data stay in memory, the thread tries again after 1, 2, 4 and
/// then each 8 seconds, and <see cref="Trouble"/> says so. Where the memory is used up, what was appended first is kept and what comes is
/// refused and counted: a run's beginning with its bounds is worth more than a hole in it. Safe to call from any thread.</summary>
public sealed class JournalWriter : IDisposable
{
    /// <summary>Memory that may wait for the disk unless another limit is given: 64 MiB.</summary>
    public const long DefaultLimitBytes = 64L << 20;

    /// <summary>The longest payload of one record, bytes.</summary>
    public const int MaxPayloadBytes = JournalFormat.MaxPayloadBytes;

    private const int WriteEveryMs = 700; // leaves 0.3 s of the promised second for the disk
    private const long HurryBytes = 1 << 20;
    private static readonly TimeSpan DisposeWait = TimeSpan.FromSeconds(5);

    private readonly object _gate = new();
    private readonly JournalSink _sink;
    private readonly JournalBuffer _buffer;
    private readonly Thread _thread;
    private long _appendedBytes;
    private long _bytesLost;
    private long _lossToNote;
    private bool _hurry;
    private bool _now;
    private bool _closing;
    private bool _closed;

    private JournalWriter(JournalSink sink, long limitBytes)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(limitBytes, 4L << 20);
        _sink = sink;
        _buffer = new JournalBuffer(limitBytes);
        _appendedBytes = sink.DurableLength;
        _thread = new Thread(WriteUntilClosed) { IsBackground = true, Name = "journal" };
    }

    /// <summary>Path of the journal.</summary>
    public string Path => _sink.Path;

    /// <summary>Length of the journal in bytes once all that was appended is written.</summary>
    public long AppendedBytes => Interlocked.Read(ref _appendedBytes);

    /// <summary>Payload bytes that found no room in memory; after <see cref="Dispose"/> also the bytes that the disk never took.</summary>
    public long BytesLost => Interlocked.Read(ref _bytesLost);

    /// <summary>Bytes of the journal that are on the disk for certain.</summary>
    public long DurableBytes => _sink.DurableLength;

    /// <summary>Sign of life of the thread that writes: moves on at least every second, unless a write to the disk does not return.</summary>
    public Heartbeat Beat { get; } = new();

    /// <summary>What is wrong with the disk and what to do, or null.</summary>
    public string? Trouble => _sink.Trouble;

    /// <summary>Bytes of records that wait in memory for the disk.</summary>
    public long WaitingBytes
    {
        get
        {
            lock (_gate)
                return _buffer.WaitingBytes;
        }
    }

    /// <summary>Makes a new journal and begins it with <paramref name="start"/>. Makes the folder where there is none.</summary>
    /// <exception cref="IOException">The file exists already or cannot be made.</exception>
    public static JournalWriter Create(string path, JournalStart start, TimeProvider time, long limitBytes = DefaultLimitBytes)
    {
        string full = System.IO.Path.GetFullPath(path);
        string folder = System.IO.Path.GetDirectoryName(full) ?? full;
        DurableFolder.Make(folder);
        var file = new JournalFile(full, FileMode.CreateNew);
        DurableFolder.Sync(folder);
        return Begin(file, start, time, limitBytes);
    }

    /// <summary>Makes a new journal without waiting for the disk: the writer's thread makes the file, again and again where the disk does not let it,
    /// while what is appended waits in memory.</summary>
    /// <param name="path">Where it will be; another name of the folder where this one is taken by then.</param>
    /// <param name="nextPath">Gives another name.</param>
    /// <param name="limitBytes">Memory that may wait for the disk.</param>
    public static JournalWriter CreateWhenPossible(string path, Func<string> nextPath, long limitBytes = DefaultLimitBytes)
    {
        string full = System.IO.Path.GetFullPath(path);
        return Begin(new JournalSink(full, () => JournalFile.Make(full, nextPath), 0), limitBytes, atOnce: true);
    }

    /// <summary>As <see cref="Reopen"/>, without waiting for the disk.</summary>
    public static JournalWriter ReopenWhenPossible(string path, long limitBytes, long wholeBytes)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(wholeBytes, JournalFormat.FileHeaderBytes);
        string full = System.IO.Path.GetFullPath(path);
        return Begin(new JournalSink(full, () => JournalFile.OpenWhole(full, wholeBytes), wholeBytes), limitBytes, atOnce: true);
    }

    /// <summary>Opens a journal that an earlier capture left, to append to it (that it was recovered, that a run was packaged). A torn
    /// tail is kept as it is, readers step over it and count it, unless it is said how far the whole records go.</summary>
    /// <param name="path">The journal.</param>
    /// <param name="limitBytes">Memory that may wait for the disk.</param>
    /// <param name="wholeBytes">Length of the whole records: what comes behind them is taken off.</param>
    /// <exception cref="IOException">The file is missing or cannot be opened.</exception>
    public static JournalWriter Reopen(string path, long limitBytes = DefaultLimitBytes, long? wholeBytes = null)
    {
        var file = new JournalFile(System.IO.Path.GetFullPath(path), FileMode.Open);
        if (file.Length < JournalFormat.FileHeaderBytes)
            file.Truncate(0); // cut within the header of the file: nothing to keep, and records cannot follow half a header
        else if (wholeBytes < file.Length)
            file.Truncate(wholeBytes.Value);
        return Begin(new JournalSink(file), limitBytes);
    }

    internal static JournalWriter Begin(JournalFile file, JournalStart start, TimeProvider time, long limitBytes)
    {
        JournalWriter writer = Begin(new JournalSink(file), limitBytes);
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

    /// <summary>Says without waiting whether all that was appended so far is on the disk; where it is not, it is written now.</summary>
    public bool IsDurable() => IsDurable(long.MaxValue);

    /// <summary>The same of what was appended up to some bytes.</summary>
    /// <param name="upTo">Of <see cref="AppendedBytes"/>, those that are asked for.</param>
    public bool IsDurable(long upTo)
    {
        lock (_gate)
        {
            if (_sink.DurableLength >= Math.Min(upTo, _appendedBytes))
                return true;
            if (!_hurry)
                Hurry();
            return false;
        }
    }

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
            if (_sink.DurableLength < target)
            {
                _now = true;
                Hurry();
            }

            while (_sink.DurableLength < target)
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
            _sink.Dispose();
    }

    internal static JournalWriter Begin(JournalSink sink, long limitBytes, bool atOnce = false)
    {
        var writer = new JournalWriter(sink, limitBytes) { _hurry = atOnce };
        if (sink.DurableLength == 0)
        {
            byte[] header = JournalFormat.FileHeader();
            header.CopyTo(writer._buffer.Reserve(header.Length));
            writer._appendedBytes += header.Length;
        }

        writer._thread.Start();
        return writer;
    }

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
        var note = new JournalNote("The disk was too slow or failed, and memory was full: bytes from the source are missing here.", _lossToNote, RunEventNames.DataLost);
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
                // A failing disk is given its time whatever the hurry, unless somebody waits for it.
                if (!_closing && !_now && (!_hurry || _sink.Trouble is not null))
                    WaitForWork(waitMs);
                _hurry = _now = false;
                if (_closing)
                    break;
                parts = _buffer.Snapshot();
            }

            waitMs = parts.Count == 0 || TryWrite(parts) ? WriteEveryMs : _sink.RetryAfterMs;
        }

        lock (_gate)
        {
            _closed = true;
            Monitor.PulseAll(_gate);
        }
    }

    // What is appended meanwhile wakes the thread too; a failing disk's time must not be cut short by that.
    private void WaitForWork(int waitMs)
    {
        long began = TimeProvider.System.GetTimestamp();
        do
        {
            int left = waitMs - (int)TimeProvider.System.GetElapsedTime(began).TotalMilliseconds;
            if (left <= 0)
                return;
            Monitor.Wait(_gate, left);
        }
        while (_sink.Trouble is not null && !_now && !_closing);
    }

    private bool TryWrite(List<ArraySegment<byte>> parts)
    {
        long before = _sink.DurableLength;
        if (!_sink.TryWrite(parts))
            return false;
        lock (_gate)
        {
            _buffer.Release(_sink.DurableLength - before);
            Monitor.PulseAll(_gate);
        }

        return true;
    }
}
