using System.Buffers.Binary;

namespace Acquire.Acquisition;

/// <summary>A bounded ring of bytes that carries blocks from one reader thread of a source to one consumer. Writing never waits:
/// what finds no room is counted in <see cref="BytesLost"/>, so that pressure never reaches the port.</summary>
public sealed class BlockRing
{
    private const int HeaderBytes = 13; // kind, host ns, length
    private readonly byte[] _ring;
    private readonly byte[] _block;
    private readonly object _gate = new();
    private int _head;
    private int _used;
    private bool _completed;
    private long _bytesLost;

    /// <summary>Makes a ring.</summary>
    /// <param name="capacityBytes">Room for blocks with 13 bytes a block on top of their payload.</param>
    /// <param name="largestPayload">The longest payload that a block may have, bytes.</param>
    public BlockRing(int capacityBytes = 8 << 20, int largestPayload = 64 << 10)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(largestPayload, 1);
        ArgumentOutOfRangeException.ThrowIfLessThan(capacityBytes, largestPayload + HeaderBytes);
        _ring = GC.AllocateArray<byte>(capacityBytes, pinned: true); // never moved, so that what was never written takes no memory
        _block = new byte[largestPayload];
    }

    /// <summary>Payload bytes that found no room since the ring was made.</summary>
    public long BytesLost => Interlocked.Read(ref _bytesLost);

    /// <summary>True once <see cref="Complete"/> was called and everything has been read.</summary>
    public bool IsFinished
    {
        get
        {
            lock (_gate)
            {
                return _completed && _used == 0;
            }
        }
    }

    /// <summary>True where a block with a payload of this length would find room now.</summary>
    public bool HasRoom(int payloadLength)
    {
        lock (_gate)
        {
            return !_completed && _ring.Length - _used >= HeaderBytes + payloadLength;
        }
    }

    /// <summary>Appends a block, or counts its payload as lost where there is no room.</summary>
    /// <returns>False where it was lost.</returns>
    public bool TryWrite(SourceBlockKind kind, long hostNs, ReadOnlySpan<byte> payload)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThan(payload.Length, _block.Length);
        Span<byte> header = stackalloc byte[HeaderBytes];
        header[0] = (byte)kind;
        BinaryPrimitives.WriteInt64LittleEndian(header[1..], hostNs);
        BinaryPrimitives.WriteInt32LittleEndian(header[9..], payload.Length);
        lock (_gate)
        {
            if (_completed || _ring.Length - _used < HeaderBytes + payload.Length)
            {
                Interlocked.Add(ref _bytesLost, payload.Length);
                return false;
            }

            Put(header);
            Put(payload);
            Monitor.Pulse(_gate);
        }

        return true;
    }

    /// <summary>Says that nothing more will come.</summary>
    public void Complete()
    {
        lock (_gate)
        {
            _completed = true;
            Monitor.PulseAll(_gate);
        }
    }

    /// <summary>Waits until there is a block, the ring is finished, or the time is over.</summary>
    /// <returns>True where a block can be read or the ring is finished.</returns>
    public bool Wait(int milliseconds)
    {
        lock (_gate)
        {
            if (_used == 0 && !_completed)
                Monitor.Wait(_gate, milliseconds);
            return _used > 0 || _completed;
        }
    }

    /// <summary>Takes the next block. Its payload is valid until the next call.</summary>
    public bool TryRead(out SourceBlock block)
    {
        lock (_gate)
        {
            if (_used == 0)
            {
                block = default;
                return false;
            }

            Span<byte> header = stackalloc byte[HeaderBytes];
            Take(header);
            int length = BinaryPrimitives.ReadInt32LittleEndian(header[9..]);
            Take(_block.AsSpan(0, length));
            block = new SourceBlock(
                (SourceBlockKind)header[0], BinaryPrimitives.ReadInt64LittleEndian(header[1..]), _block.AsSpan(0, length));
            return true;
        }
    }

    private void Put(ReadOnlySpan<byte> bytes)
    {
        int tail = (int)(((long)_head + _used) % _ring.Length);
        int first = Math.Min(bytes.Length, _ring.Length - tail);
        bytes[..first].CopyTo(_ring.AsSpan(tail));
        bytes[first..].CopyTo(_ring);
        _used += bytes.Length;
    }

    private void Take(Span<byte> bytes)
    {
        int first = Math.Min(bytes.Length, _ring.Length - _head);
        _ring.AsSpan(_head, first).CopyTo(bytes);
        _ring.AsSpan(0, bytes.Length - first).CopyTo(bytes[first..]);
        _used -= bytes.Length;

        // An empty ring begins anew at its front: a reader that keeps up touches some kilobytes and not, in the course of hours, all of it.
        _head = _used == 0 ? 0 : (int)(((long)_head + bytes.Length) % _ring.Length);
    }
}
