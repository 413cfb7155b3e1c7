using System.Numerics;
using CsCheck;

namespace Acquire.Recording.Tests;

public sealed class TickScaleTests
{
    [Fact]
    public void Nanoseconds_are_the_exact_product_rounded()
    {
        var cases =
            from ticks in Gen.OneOf(Gen.Long[-1_000_000_000_000, 1_000_000_000_000], Gen.Long[0, 1000])
            from exponent in Gen.Double[-9, -3]
            select (ticks, secondsPerTick: Math.Pow(10, exponent));
        cases.ForEach(20_000, seed: 43, at =>
        {
            // The exact product as a fraction of integers: a double is mantissa · 2^-shift.
            (BigInteger mantissa, int shift) = Exact(at.secondsPerTick);
            BigInteger product = mantissa * at.ticks * 1_000_000_000;
            BigInteger found = (BigInteger)new TickScale(at.secondsPerTick).Nanoseconds(at.ticks) << shift;
            BigInteger slack = BigInteger.Abs(product) >> 62; // what a factor of 63 bits leaves open
            Assert.True(BigInteger.Abs(found - product) <= (BigInteger.One << (shift - 1)) + slack);
        });
    }

    [Theory]
    [InlineData(5e-7, 3, 1500)]
    [InlineData(5e-7, 10_800_000_000, 5_400_000_000_000)]
    [InlineData(1e-9, 5_400_123_456_789, 5_400_123_456_789)]
    [InlineData(1.0, 5400, 5_400_000_000_000)]
    [InlineData(5e-7, -3, -1500)]
    [InlineData(0.0009765625, 1, 976_563)] // 976,562.5 ns: halves go up
    public void Known_products_come_out_to_the_digit(double secondsPerTick, long ticks, long expectedNs) =>
        Assert.Equal(expectedNs, new TickScale(secondsPerTick).Nanoseconds(ticks));

    [Theory]
    [InlineData(0)]
    [InlineData(-1e-6)]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    public void A_tick_of_no_length_is_the_callers_bug(double secondsPerTick) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => new TickScale(secondsPerTick));

    private static (BigInteger Mantissa, int Shift) Exact(double value)
    {
        int shift = 0;
        while (value != Math.Floor(value))
        {
            value *= 2; // exact
            shift++;
        }

        return (new BigInteger(value), shift);
    }
}
