namespace Acquire.Acquisition.Lines;

/// <summary>Widens a board's counter to 64 bits and joins it across restarts. The ticks begin at the first value read. Of all values that
/// agree with the bits, the one nearest to (last ticks + host time since × rate) is taken, so that a wrap is seen even after a
/// pause of minutes, and ticks may fall a little where lines cross.</summary>
internal sealed class JoinedCounter
{
    private const double NsPerSecond = 1e9;

    // A counter is taken to have begun again where its value is further off than any delay, and small enough to have begun since.
    private const double LargestDelayS = 5;
    private const double LargestRateError = 0.02;
    private const double BeginSlackS = 2;

    private double _tickHz;
    private int _bits;
    private bool _any;
    private bool _joins;
    private long _counter;
    private long _offset;
    private long _hostNs;

    internal JoinedCounter(double tickHz, int bits)
    {
        _tickHz = tickHz;
        _bits = Carried(bits);
    }

    /// <summary>What is needed to go on later; the ticks are counter plus offset.</summary>
    internal readonly record struct CounterState(bool Any, bool Joins, long Counter, long Offset, long HostNs);

    internal CounterState State
    {
        get => new(_any, _joins, _counter, _offset, _hostNs);
        set => (_any, _joins, _counter, _offset, _hostNs) = value;
    }

    /// <summary>The last ticks; 0 before the first.</summary>
    internal long LastTicks => unchecked(_counter + _offset);

    /// <summary>Says at which rate and how wide the counter runs from now on.</summary>
    internal void Set(double tickHz, int bits)
    {
        _tickHz = tickHz;
        _bits = Carried(bits);
    }

    /// <summary>True where the counter runs at this rate and width already.</summary>
    internal bool Is(double tickHz, int bits) => _tickHz == tickHz && _bits == Carried(bits);

    /// <summary>Says that the counter has begun again: the next value continues the ticks by the host's time.</summary>
    internal void Rejoin() => _joins = _any;

    /// <summary>The ticks that the host's time lets expect at <paramref name="hostNs"/>.</summary>
    internal long Expected(long hostNs) => unchecked(LastTicks + ElapsedTicks(hostNs));

    /// <summary>True where the value can only come from a counter that began again since the last one.</summary>
    internal bool BeganAgain(uint raw, long hostNs)
    {
        if (!_any || _joins)
            return false;
        double elapsedS = Math.Max(hostNs - _hostNs, 0) / NsPerSecond;
        double offS = Math.Abs((double)Off(raw, unchecked(_counter + ElapsedTicks(hostNs)))) / _tickHz;
        return offS > LargestDelayS + (LargestRateError * elapsedS) && raw / _tickHz <= elapsedS + BeginSlackS;
    }

    /// <summary>The value widened and joined.</summary>
    internal long Widen(uint raw, long hostNs)
    {
        if (!_any)
        {
            _any = true;
            _counter = raw;
        }
        else
        {
            // Sums of 64-bit ticks stay in range for centuries from any start; a hostile line must not throw either.
            unchecked
            {
                long elapsed = hostNs == _hostNs ? 0 : ElapsedTicks(hostNs);
                if (_joins)
                    _offset = _counter + _offset + elapsed - raw;
                long expected = _joins ? raw : _counter + elapsed;
                _counter = expected + Off(raw, expected);
            }

            _joins = false;
        }

        _hostNs = hostNs;
        return LastTicks;
    }

    // A line carries no more than the lower 32 bits.
    private static int Carried(int bits) => Math.Min(bits, 32);

    // The distance from the expected value to the nearest that agrees with the bits, by sign extension of what differs.
    private long Off(uint raw, long expected)
    {
        int unused = 64 - _bits;
        return unchecked((long)((ulong)(raw - expected) << unused)) >> unused;
    }

    private long ElapsedTicks(long hostNs) => (long)(Math.Max(hostNs - _hostNs, 0) / NsPerSecond * _tickHz);
}
