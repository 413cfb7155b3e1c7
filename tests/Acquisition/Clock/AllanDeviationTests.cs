using Acquire.Acquisition.Clock;
using Xunit;

namespace Acquire.Acquisition.Tests.Clock;

/// <summary>Against W. J. Riley, Handbook of Frequency Stability Analysis, NIST Special Publication 1065 (2008), pages 107 and 108.</summary>
public sealed class AllanDeviationTests
{
    private static readonly double[] Nine = [892, 809, 823, 798, 671, 644, 883, 903, 677];

    // n₀ = 1234567890, n ← 16807 n mod 2147483647, each over 2147483647.
    private static double[] Thousand()
    {
        double[] values = new double[1000];
        long n = 1234567890;
        for (int i = 0; i < values.Length; i++)
        {
            values[i] = n / 2147483647.0;
            n = 16807 * n % 2147483647;
        }

        return values;
    }

    [Theory]
    [InlineData(1, 91.22945, 91.22945, 91.22945)]
    [InlineData(2, 115.8082, 85.95287, 74.78849)]
    public void Nine_values_give_the_published_deviations(int points, double plain, double overlapping, double modified) =>
        Compare(Nine, points, plain, overlapping, modified);

    [Theory]
    [InlineData(1, 0.2922319, 0.2922319, 0.2922319)]
    [InlineData(10, 0.09965736, 0.09159953, 0.06172376)]
    [InlineData(100, 0.03897804, 0.03241343, 0.02170921)]
    public void A_thousand_values_give_the_published_deviations(int points, double plain, double overlapping, double modified) =>
        Compare(Thousand(), points, plain, overlapping, modified);

    [Fact]
    public void Too_few_values_are_a_callers_mistake()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => AllanDeviation.Plain(Nine, 5));
        Assert.Throws<ArgumentOutOfRangeException>(() => AllanDeviation.Overlapping(Nine, 0));
        Assert.Throws<ArgumentOutOfRangeException>(() => AllanDeviation.Modified(Nine, 4));
    }

    // The published figures have seven digits.
    private static void Compare(double[] values, int points, double plain, double overlapping, double modified)
    {
        Assert.Equal(1, AllanDeviation.Plain(values, points) / plain, 1e-6);
        Assert.Equal(1, AllanDeviation.Overlapping(values, points) / overlapping, 1e-6);
        Assert.Equal(1, AllanDeviation.Modified(values, points) / modified, 1e-6);
    }
}
