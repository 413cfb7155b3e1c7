namespace Acquire.Motion;

/// <summary>How many pulses come a second, whatever they are: what a tracker makes of them may be wrong for a while, this hardly ever.</summary>
internal sealed class PulseRate(double tickHz)
{
    private const int Kept = 512;
    private const double BounceS = 1e-3;
    private readonly long[] _ticks = new long[Kept];
    private long _count;

    /// <summary>Takes any pulse.</summary>
    public void See(long ticks)
    {
        if (_count > 0 && ticks - _ticks[(_count - 1) % Kept] < BounceS * tickHz)
            return;
        _ticks[_count++ % Kept] = ticks;
    }

    /// <summary>Whether over the last so many pulses, and over as many before them, the pulses came no slower than one rate and no faster than
    /// another.</summary>
    /// <param name="pulses">How many; at most half of what is kept.</param>
    /// <param name="leastPerS">Pulses a second.</param>
    /// <param name="mostPerS">Pulses a second.</param>
    public bool HasBeenWithin(int pulses, double leastPerS, double mostPerS)
    {
        if (_count <= 2 * pulses)
            return false;
        double late = Over(pulses, 0);
        double early = Over(pulses, pulses);
        return Math.Min(late, early) >= leastPerS && Math.Max(late, early) <= mostPerS;
    }

    /// <summary>Whether the last so many pulses came at the rate of as many before them.</summary>
    public bool IsSteady(int pulses) => _count > 2 * pulses && Math.Abs((Over(pulses, 0) / Over(pulses, pulses)) - 1) < 0.2;

    private double Over(int pulses, int ago)
    {
        long last = _ticks[(_count - 1 - ago) % Kept];
        long first = _ticks[(_count - 1 - ago - pulses) % Kept];
        return pulses * tickHz / Math.Max(1, last - first);
    }
}
