namespace Acquire.Motion;

/// <summary>How many pulses come a second, whatever they are: what a tracker makes of them may be wrong for a while, this hardly ever.</summary>
internal sealed class PulseRate(double tickHz)
{
    private const int Kept = 512;
    private const double BounceS = 1e-3;
    private const double Same = 0.2;
    private const double LongestS = 2;
    private const double GapSpacings = 6;   // a pulse that comes later than so many at the highest rate comes after a gap
    private const int Fewest = 4;
    private readonly long[] _ticks = new long[Kept];
    private long _count;
    private double _before = double.NaN;

    /// <summary>Takes any pulse.</summary>
    public void See(long ticks)
    {
        if (_count > 0 && ticks - _ticks[(_count - 1) % Kept] < BounceS * tickHz)
            return;
        _ticks[_count++ % Kept] = ticks;
    }

    /// <summary>Pulses a second over the last so many; NaN where there were fewer.</summary>
    public double Over(int pulses) => _count > pulses ? Over(pulses, 0) : double.NaN;

    /// <summary>Keeps the rate of the last so many pulses, to be compared with later.</summary>
    public void Keep(int pulses) => _before = Over(pulses);

    /// <summary>Whether the last so many pulses came steadily and at the rate that was kept.</summary>
    public bool IsAsBefore(int pulses) =>
        _count > 2 * pulses && Math.Abs((Over(pulses, 0) / Over(pulses, pulses)) - 1) < Same && Math.Abs((Over(pulses, 0) / _before) - 1) < 2 * Same;

    /// <summary>Whether over the last so many pulses, and over as many before them, the pulses came no slower than one rate and no faster than
    /// another; over fewer, where there was a gap in them.</summary>
    /// <param name="pulses">How many; at most half of what is kept.</param>
    /// <param name="leastPerS">Pulses a second.</param>
    /// <param name="mostPerS">Pulses a second.</param>
    public bool HasBeenWithin(int pulses, double leastPerS, double mostPerS)
    {
        int most = (int)Math.Min(_count - 1, 2 * pulses);
        double gap = Math.Min(LongestS, GapSpacings / Math.Max(mostPerS, 1e-3)) * tickHz;
        int together = 0;
        while (together < most && Ticks(together) - Ticks(together + 1) < gap)
            together++;
        int half = together / 2;
        if (half < Math.Min(pulses, Fewest))
            return false;
        double late = Over(half, 0);
        double early = Over(half, half);
        return Math.Min(late, early) >= leastPerS && Math.Max(late, early) <= mostPerS;
    }

    private long Ticks(int ago) => _ticks[(_count - 1 - ago) % Kept];

    private double Over(int pulses, int ago) =>
        pulses * tickHz / Math.Max(1, Ticks(ago) - Ticks(ago + pulses));
}
