namespace Acquire.Recording;

/// <summary>The bounded memory between those who append and the thread that writes: chunks of whole records, kept until they are
/// on the disk. Not safe by itself; the writer's lock guards it.</summary>
internal sealed class JournalBuffer(long limitBytes)
{
    private const int ChunkBytes = 128 << 10;
    private const int SpareChunks = 16;
    private readonly Queue<Chunk> _chunks = new();
    private readonly Stack<Chunk> _spare = new();
    private Chunk? _last;
    private long _heldBytes;

    /// <summary>Bytes of records that are not on the disk yet.</summary>
    public long WaitingBytes { get; private set; }

    /// <summary>Room for a record of that many bytes at the end, or an empty span where the limit is reached.</summary>
    public Span<byte> Reserve(int bytes)
    {
        if (_last is null || _last.Bytes.Length - _last.Filled < bytes)
        {
            int size = Math.Max(bytes, ChunkBytes);
            if (_heldBytes + size > limitBytes)
                return [];
            _last = size == ChunkBytes && _spare.TryPop(out Chunk? spare) ? spare : new Chunk(size);
            _heldBytes += _last.Bytes.Length;
            _chunks.Enqueue(_last);
        }

        Span<byte> room = _last.Bytes.AsSpan(_last.Filled, bytes);
        _last.Filled += bytes;
        WaitingBytes += bytes;
        return room;
    }

    /// <summary>What waits now. The bytes stay as they are until <see cref="Release"/>, while others append behind them.</summary>
    public List<ArraySegment<byte>> Snapshot()
    {
        var parts = new List<ArraySegment<byte>>(_chunks.Count);
        foreach (Chunk chunk in _chunks)
        {
            if (chunk.Filled > chunk.Begin)
                parts.Add(new ArraySegment<byte>(chunk.Bytes, chunk.Begin, chunk.Filled - chunk.Begin));
        }

        return parts;
    }

    /// <summary>Lets the first so many bytes go: they are on the disk.</summary>
    public void Release(long bytes)
    {
        WaitingBytes -= bytes;
        while (_chunks.TryPeek(out Chunk? chunk))
        {
            int part = (int)Math.Min(bytes, chunk.Filled - chunk.Begin);
            chunk.Begin += part;
            bytes -= part;
            if (chunk.Begin < chunk.Filled)
                return;
            if (chunk == _last)
            {
                chunk.Begin = chunk.Filled = 0;
                return;
            }

            _chunks.Dequeue();
            _heldBytes -= chunk.Bytes.Length;
            if (chunk.Bytes.Length == ChunkBytes && _spare.Count < SpareChunks)
            {
                chunk.Begin = chunk.Filled = 0;
                _spare.Push(chunk);
            }
        }
    }

    private sealed class Chunk(int size)
    {
        public byte[] Bytes { get; } = new byte[size];

        public int Begin { get; set; }

        public int Filled { get; set; }
    }
}
