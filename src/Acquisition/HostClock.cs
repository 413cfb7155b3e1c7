namespace Acquire.Acquisition;

/// <summary>The host's monotonic clock in nanoseconds, taken from a <see cref="TimeProvider"/>.</summary>
public static class HostClock
{
    private const long NsPerSecond = 1_000_000_000;

    /// <summary>Nanoseconds of the provider's monotonic clock; on Linux the system clock's is CLOCK_MONOTONIC, the one
    /// that the kernel stamps GPIO edges with.</summary>
    public static long MonotonicNs(this TimeProvider time)
    {
        long stamp = time.GetTimestamp();
        long frequency = time.TimestampFrequency;
        return frequency == NsPerSecond
            ? stamp
            : (stamp / frequency * NsPerSecond) + (stamp % frequency * NsPerSecond / frequency);
    }
}
