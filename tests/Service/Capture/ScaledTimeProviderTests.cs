using Acquire.Service.Capture;
using CsCheck;
using Microsoft.Extensions.Time.Testing;

namespace Acquire.Service.Tests.Capture;

public sealed class ScaledTimeProviderTests
{
    private readonly FakeTimeProvider _inner = new(new DateTimeOffset(2027, 3, 14, 9, 0, 0, TimeSpan.Zero));

    [Fact]
    public void It_starts_at_the_true_time_and_runs_faster_from_there()
    {
        var time = new ScaledTimeProvider(_inner, 60);
        Assert.Equal(_inner.GetUtcNow(), time.GetUtcNow());
        long stamp = time.GetTimestamp();
        _inner.Advance(TimeSpan.FromMinutes(1));
        Assert.Equal(TimeSpan.FromHours(1), time.GetElapsedTime(stamp));
        Assert.Equal(new DateTimeOffset(2027, 3, 14, 10, 0, 0, TimeSpan.Zero), time.GetUtcNow());
    }

    [Fact]
    public void Stamps_never_go_back_and_keep_to_the_scale() =>
        Gen.Select(Gen.Double[0.001, 100_000], Gen.Int[0, 10_000_000].Array[1, 20]).Sample((scale, steps) =>
        {
            var inner = new FakeTimeProvider();
            var time = new ScaledTimeProvider(inner, scale);
            long first = time.GetTimestamp();
            long last = first;
            long ticks = 0;
            foreach (int step in steps)
            {
                inner.Advance(TimeSpan.FromTicks(step));
                ticks += step;
                long now = time.GetTimestamp();
                Assert.True(now >= last);
                Assert.InRange(now - first, (ticks * scale) - 1 - (ticks * scale * 1e-12), (ticks * scale) + 1 + (ticks * scale * 1e-12));
                last = now;
            }
        }, seed: "0000KOIPkFPm");

    [Fact]
    public void A_timer_fires_after_its_time_of_this_clock_and_again_each_period()
    {
        var time = new ScaledTimeProvider(_inner, 10);
        int fired = 0;
        using ITimer timer = time.CreateTimer(_ => fired++, null, TimeSpan.FromSeconds(20), TimeSpan.FromSeconds(10));
        _inner.Advance(TimeSpan.FromSeconds(1.9));
        Assert.Equal(0, fired);
        _inner.Advance(TimeSpan.FromSeconds(0.1));
        Assert.Equal(1, fired);
        _inner.Advance(TimeSpan.FromSeconds(1));
        Assert.Equal(2, fired);

        Assert.True(timer.Change(TimeSpan.FromSeconds(50), Timeout.InfiniteTimeSpan));
        _inner.Advance(TimeSpan.FromSeconds(4.9));
        Assert.Equal(2, fired);
        _inner.Advance(TimeSpan.FromSeconds(10));
        Assert.Equal(3, fired);
    }

    [Fact]
    public void A_period_shorter_than_a_timer_can_does_not_become_never()
    {
        var time = new ScaledTimeProvider(_inner, 100_000);
        int fired = 0;
        using ITimer timer = time.CreateTimer(_ => fired++, null, TimeSpan.FromSeconds(1), TimeSpan.FromSeconds(1));
        for (int i = 0; i < 5; i++) _inner.Advance(TimeSpan.FromMilliseconds(1));
        Assert.Equal(5, fired);
    }

    [Fact]
    public void A_slow_clock_asks_no_timer_for_longer_than_it_can()
    {
        var time = new ScaledTimeProvider(TimeProvider.System, 0.001);
        using ITimer timer = time.CreateTimer(_ => { }, null, TimeSpan.FromDays(1), Timeout.InfiniteTimeSpan);
        Assert.True(timer.Change(Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan));
    }

    [Theory]
    [InlineData(0)]
    [InlineData(-1)]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    public void A_scale_that_is_no_rate_is_refused(double scale) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => new ScaledTimeProvider(_inner, scale));
}
