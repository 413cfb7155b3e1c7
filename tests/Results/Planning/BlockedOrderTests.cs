using Acquire.Results.Planning;
using MathNet.Numerics.Distributions;
using Xunit;

namespace Acquire.Results.Tests.Planning;

public sealed class BlockedOrderTests
{
    [Theory]
    [InlineData(1, 1)]
    [InlineData(3, 4)]
    [InlineData(7, 20)]
    public void Each_block_holds_every_setup_once(int setups, int blocks)
    {
        IReadOnlyList<BlockRun> runs = BlockedOrder.Of(setups, blocks, 11);
        Assert.Equal(setups * blocks, runs.Count);
        Assert.Equal(Enumerable.Range(1, blocks).SelectMany(b => Enumerable.Repeat(b, setups)), runs.Select(r => r.Block));
        foreach (IGrouping<int, BlockRun> block in runs.GroupBy(r => r.Block)) Assert.Equal(Enumerable.Range(0, setups), block.Select(r => r.Setup).Order());
    }

    [Fact]
    public void The_same_seed_gives_the_same_order_and_another_another()
    {
        Assert.Equal(BlockedOrder.Of(5, 6, 42), BlockedOrder.Of(5, 6, 42));
        Assert.NotEqual(BlockedOrder.Of(5, 6, 42), BlockedOrder.Of(5, 6, 43));
    }

    // A seed must give the same order in years to come. By the shuffle done again in Python with numpy.random.RandomState(7), 32 bits at a time (numpy 1.24.2).
    [Fact]
    public void The_order_of_a_seed_does_not_change_with_the_program() =>
        Assert.Equal([2, 1, 3, 0, 2, 3, 0, 1, 2, 1, 3, 0], BlockedOrder.Of(4, 3, 7).Select(r => r.Setup));

    // All 24 orders of four set-ups are alike likely: χ² over 24,000 blocks, 23 degrees of freedom, rejected at 1e-4.
    [Fact]
    public void All_orders_are_alike_likely()
    {
        Dictionary<string, int> counts = Enumerable.Range(0, 24).SelectMany(seed => BlockedOrder.Of(4, 1000, seed))
            .Chunk(4).Select(b => string.Concat(b.Select(r => r.Setup))).CountBy(o => o).ToDictionary();
        Assert.Equal(24, counts.Count);
        double chi2 = counts.Values.Sum(n => (n - 1000.0) * (n - 1000.0) / 1000);
        Assert.True(chi2 < ChiSquared.InvCDF(23, 1 - 1e-4), $"χ² {chi2}");
    }

    [Fact]
    public void What_cannot_be_throws()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => BlockedOrder.Of(0, 1, 1));
        Assert.Throws<ArgumentOutOfRangeException>(() => BlockedOrder.Of(1, 0, 1));
        Assert.Throws<ArgumentOutOfRangeException>(() => BlockedOrder.Of(101, 100, 1));
    }
}
