namespace Acquire.Acquisition.Simulation;

/// <summary>Writes to a ring without ever losing a block: it counts what it wrote and, when that would fill the ring, waits until the
/// ring has been emptied.</summary>
internal sealed class PatientWriter(BlockRing ring, int capacityBytes, CancellationToken stop)
{
    private const int BlockBytes = 16; // a little more than a block takes besides its payload
    private long _written;

    internal void Write(SourceBlockKind kind, long hostNs, ReadOnlySpan<byte> payload)
    {
        if (_written + BlockBytes + payload.Length > capacityBytes)
        {
            while (ring.Wait(0) && !stop.IsCancellationRequested)
                stop.WaitHandle.WaitOne(1);
            _written = 0;
        }

        stop.ThrowIfCancellationRequested();
        if (!ring.TryWrite(kind, hostNs, payload))
            throw new InvalidOperationException("A ring that was empty had no room.");
        _written += BlockBytes + payload.Length;
    }
}
