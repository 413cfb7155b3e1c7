using Acquire.Results.Statistics;
using Xunit;

namespace Acquire.Results.Tests.Statistics;

public sealed class PermutationTests
{
    // Twenty ways to choose three of six; only the one seen and its mirror part the groups wholly.
    [Fact]
    public void Of_three_runs_against_three_apart_two_in_twenty_are_as_far_apart()
    {
        PermutationTest found = PermutationTest.Of([1, 2, 3.5], [10, 11, 12.25]);
        Assert.Equal(20, found.Arrangements);
        Assert.Equal(0.1, found.P, 1e-12);
        Assert.Equal(0.1, found.Least, 1e-12);
    }

    [Fact]
    public void Equal_runs_differ_by_chance_only() => Assert.Equal(1, PermutationTest.Of([2, 2], [2, 2, 2]).P);

    // Groups too large to look at every arrangement: the drawn probability must be near that of the t test of normal numbers.
    [Fact]
    public void Many_runs_are_rearranged_by_chance_with_the_same_result_each_time()
    {
        var random = new Random(4);
        double[] x = [.. Enumerable.Range(0, 14).Select(_ => Normal(random))];
        double[] y = [.. Enumerable.Range(0, 15).Select(_ => Normal(random) + 0.5)];
        PermutationTest found = PermutationTest.Of(x, y);
        Assert.False(found.IsExact);
        Assert.Equal(found, PermutationTest.Of(x, y));
        Assert.Equal(MeanDifference.Welch(Sample.Of(x), Sample.Of(y)).P, found.P, 0.02);
    }

    private static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
