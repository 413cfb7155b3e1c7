namespace Acquire.Recording;

/// <summary>Ticks to whole nanoseconds by integers alone: seconds a tick as a 63-bit fraction, so that a long run loses nothing
/// to the 53 bits of a product of doubles and every machine writes the same digits.</summary>
internal readonly struct TickScale
{
    private const int FactorBits = 63;
    private readonly ulong _factor;
    private readonly int _shift;

    /// <param name="secondsPerTick">Between 1e-15 and 1e3.</param>
    public TickScale(double secondsPerTick)
    {
        if (!(secondsPerTick is >= 1e-15 and <= 1e3))
            throw new ArgumentOutOfRangeException(nameof(secondsPerTick), secondsPerTick, "Seconds a tick must lie between 1e-15 and 1e3.");
        long bits = BitConverter.DoubleToInt64Bits(secondsPerTick);
        ulong mantissa = ((ulong)bits & 0xFFFFFFFFFFFFF) | 0x10000000000000;
        int exponent = (int)(bits >> 52) - 1075;
        UInt128 nanoseconds = (UInt128)mantissa * 1_000_000_000; // times 2^exponent
        int drop = 128 - (int)UInt128.LeadingZeroCount(nanoseconds) - FactorBits;
        _factor = (ulong)((nanoseconds + (UInt128.One << (drop - 1))) >> drop);
        _shift = -(exponent + drop);
    }

    /// <summary>Nanoseconds of so many ticks, rounded to the nearest.</summary>
    /// <exception cref="OverflowException">More than 292 years.</exception>
    public long Nanoseconds(long ticks)
    {
        ulong high = Math.BigMul((ulong)Math.Abs(ticks), _factor, out ulong low);
        var product = new UInt128(high, low);
        long nanoseconds = (long)((product + (UInt128.One << (_shift - 1))) >> _shift); // the range of seconds a tick keeps the shift above 0
        return ticks < 0 ? -nanoseconds : nanoseconds;
    }
}
