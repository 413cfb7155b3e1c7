namespace Acquire.Acquisition.Lines;

/// <summary>Widens a board's counter to 64 bits and joins it across restarts. The ticks begin at the first value read. Of all values that
/// agree with the bits, the one nearest to (last ticks + host time since × rate) is taken, so that a wrap is seen even after a
/// pause of minutes, and ticks may fall a little where lines cross.</summary>
internal sealed class JoinedCounter
{
    private const double NsPerSecond = 1e9;

    // A counter is taken to have begun again where its value is none that the old one can have come to, and small enough to have begun since.
    private const double LargestDelayS = 5;
    private const double LargestRateError = 0.02;
    private const double BeginSlackS = 2;

    // By how much a value may be behind an earlier line's: pulses are in order among themselves; one is sent up to 2 s after its edge, and
    // behind others in the queue, which status lines and answers pass by.
    private const double PulseAfterPulseS = 0.25;
    private const double PulseAfterOtherS = 3;
    private const double OtherAfterAnyS = 1;

    // After a pause as long as this, or this share of a wrap, it may have wrapped, and only the host's time says how far it should be.
    private const double LongPauseS = 60;
    private const double LongPauseWraps = 1.0 / 16;

    private double _tickHz;
    private int _bits;
    private bool _any;
    private bool _joins;
    private long _counter;
    private long _offset;
    private long _hostNs;
    private long? _pulse;
    private long _pulseHostNs;

    internal JoinedCounter(double tickHz, int bits)
    {
        _tickHz = tickHz;
        _bits = Carried(bits);
    }

    /// <summary>What is needed to go on later; the ticks are counter plus offset.</summary>
    internal readonly record struct CounterState(bool Any, bool Joins, long Counter, long Offset, long HostNs, long? Pulse = null, long PulseHostNs = 0);

    internal CounterState State
    {
        get => new(_any, _joins, _counter, _offset, _hostNs, _pulse, _pulseHostNs);
        set => (_any, _joins, _counter, _offset, _hostNs, _pulse, _pulseHostNs) = value;
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
    internal bool BeganAgain(uint raw, long hostNs, bool isPulse) =>
        _any && !_joins && MayHaveBegun(raw, hostNs)
        && !(GoesOn(raw, hostNs, _counter, _hostNs, isPulse ? PulseAfterOtherS : OtherAfterAnyS)
            && (!isPulse || _pulse is not { } pulse || GoesOn(raw, hostNs, pulse, _pulseHostNs, PulseAfterPulseS)));

    /// <summary>True where a counter that began after the last line was read can have come to the value.</summary>
    internal bool MayHaveBegun(uint raw, long hostNs) => raw / _tickHz <= ElapsedS(hostNs, _hostNs) + BeginSlackS;

    /// <summary>The value widened and joined.</summary>
    internal long Widen(uint raw, long hostNs, bool isPulse)
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
                    (_offset, _pulse) = (_counter + _offset + elapsed - raw, null);
                long expected = _joins ? raw : _counter + elapsed;
                _counter = expected + Off(raw, expected);
            }

            _joins = false;
        }

        _hostNs = hostNs;
        if (isPulse)
            (_pulse, _pulseHostNs) = (_counter, hostNs);
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

    /// <summary>True where the counter can have gone on from a value to this one. Between two lines that are not far apart it goes on by no more
    /// than the host's time, and may seem to go on by less where the later one was read late.</summary>
    private bool GoesOn(uint raw, long hostNs, long from, long fromNs, double behindS)
    {
        double elapsedS = ElapsedS(hostNs, fromNs);
        double wrapS = Math.ScaleB(1, _bits) / _tickHz;
        if (elapsedS > Math.Min(LongPauseS, wrapS * LongPauseWraps))
            return Math.Abs((double)Off(raw, unchecked(from + (long)(elapsedS * _tickHz)))) / _tickHz <= LargestDelayS + (LargestRateError * elapsedS);
        double stepS = Off(raw, from) / _tickHz;
        return (stepS < -behindS ? stepS + wrapS : stepS) <= LargestDelayS + ((1 + LargestRateError) * elapsedS);
    }

    private static double ElapsedS(long hostNs, long sinceNs) => Math.Max(hostNs - sinceNs, 0) / NsPerSecond;

    private long ElapsedTicks(long hostNs) => (long)(ElapsedS(hostNs, _hostNs) * _tickHz);
}
