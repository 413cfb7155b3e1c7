namespace Acquire.Acquisition;

/// <summary>A count that one thread moves on each time it comes round, whether or not it found anything to do; another thread sees by
/// it that the first still lives.</summary>
public sealed class Heartbeat
{
    private long _count;

    /// <summary>How often the thread has come round. Safe to read from any thread.</summary>
    public long Count => Volatile.Read(ref _count);

    /// <summary>Moves the count on. For the one thread that it belongs to.</summary>
    public void Beat() => Volatile.Write(ref _count, _count + 1);
}
