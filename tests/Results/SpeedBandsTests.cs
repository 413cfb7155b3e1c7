using Acquire.Motion;
using Xunit;

namespace Acquire.Results.Tests;

public sealed class SpeedBandsTests
{
    [Theory]
    [InlineData(2000, 500, 6)]
    [InlineData(1830, 612, 6)]
    [InlineData(3000, 200, 4)]
    [InlineData(2000, 1999, 10)]
    [InlineData(45_000, 900, 6)]
    public void Bands_cover_the_interval_without_a_hole(double from, double to, int fewest)
    {
        IReadOnlyList<SpeedBand> bands = SpeedBands.Between(from, to);
        Assert.InRange(bands.Count, fewest, 12);
        Assert.Equal(from, bands[0].FromRpm);
        Assert.Equal(to, bands[^1].ToRpm);
        for (int i = 1; i < bands.Count; i++)
            Assert.Equal(bands[i - 1].ToRpm, bands[i].FromRpm);
        Assert.All(bands, b => Assert.True(b.FromRpm > b.ToRpm));
    }

    [Fact]
    public void The_usual_bands_are_at_round_speeds() =>
        Assert.Equal([1750, 1500, 1250, 1000, 750, 500], SpeedBands.Between(2000, 500).Select(b => b.ToRpm));

    [Fact]
    public void A_gap_is_told_and_the_largest_interval_without_it_is_offered()
    {
        SpeedPoint At(int i) => i is > 40 and < 60 ? new(i, double.NaN, double.NaN, double.NaN, double.NaN) : new(i, 2000 - (15 * i), 0.1, 15, 0.1);
        SpinSpan span = SpinSpan.Of([.. Enumerable.Range(0, 101).Select(At)], 0)!;
        SpinGap gap = Assert.Single(span.Between(1500, 600));
        Assert.Equal((40, 60, 1400, 1100), (gap.FromS, gap.ToS, gap.FromRpm, gap.ToRpm));
        Assert.Equal(new SpeedBand(1100, 600), span.Whole(1500, 600));
        Assert.Equal(new SpeedBand(2000, 1400), span.Whole(2500, 1200));
        Assert.Empty(span.Between(1050, 600));
    }
}
