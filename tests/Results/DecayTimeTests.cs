using Acquire.Motion;
using Xunit;

namespace Acquire.Results.Tests;

public sealed class DecayTimeTests
{
    // An exponential decay passes from one speed to another in τ ln(from/to), whatever the speeds: elementary calculus.
    private static List<SpeedPoint> Exponential(double tauS, double peakRpm, double gridS, Func<double, bool>? lost = null) =>
        [.. Enumerable.Range(0, (int)(4 * tauS / gridS)).Select(i => i * gridS).Select(t =>
        {
            double rpm = peakRpm * Math.Exp(-t / tauS);
            return lost?.Invoke(t) == true
                ? new SpeedPoint(t, double.NaN, double.NaN, double.NaN, double.NaN)
                : new SpeedPoint(t, rpm, 0.01, rpm / tauS, 0.001);
        })];

    [Theory]
    [InlineData(2000, 500)]
    [InlineData(1999.5, 1000)]
    [InlineData(700, 699)]
    public void Of_an_exponential_decay_it_is_tau_times_the_logarithm_of_the_ratio(double fromRpm, double toRpm)
    {
        DecayTime? found = DecayTime.Between(Exponential(600, 2500, 1), 0, fromRpm, toRpm, 0);
        Assert.NotNull(found);
        Assert.Equal(600 * Math.Log(fromRpm / toRpm), found.Seconds, 1e-6);
    }

    [Fact]
    public void On_a_coarse_grid_the_curve_between_its_points_still_counts()
    {
        DecayTime? found = DecayTime.Between(Exponential(600, 2500, 30), 0, 2000, 500, 0);
        Assert.Equal(600 * Math.Log(4), found!.Seconds, 2e-4);
    }

    [Fact]
    public void Its_uncertainty_is_that_of_both_speeds_over_their_decelerations_and_of_the_clock()
    {
        List<SpeedPoint> speed = WithClock(Exponential(600, 2500, 1), 20);
        DecayTime found = DecayTime.Between(speed, 0, 2000, 500, 20)!;
        double from = 0.01 / (2000 / 600.0);
        double to = 0.01 / (500 / 600.0);
        double clock = found.Seconds * 20e-6;
        Assert.Equal(Math.Sqrt((from * from) + (to * to) + (clock * clock)), found.USeconds, 1e-5);
    }

    // Of ω̇ ∝ ω² the solution is ω = 1/(k t): a clock that is wrong stretches times and speeds so that the same curve comes out.
    [Fact]
    public void A_clocks_error_cancels_where_the_loss_goes_as_the_square_of_the_speed()
    {
        List<SpeedPoint> speed = WithClock(
            [.. Enumerable.Range(0, 900).Select(i => new SpeedPoint(i, 2e5 / (i + 100), 1e-4, 2e5 / Math.Pow(i + 100, 2), 1e-5))], 50);
        DecayTime found = DecayTime.Between(speed, 0, 1500, 400, 50)!;
        double from = 1e-4 / (1500 * 1500 / 2e5);
        double to = 1e-4 / (400 * 400 / 2e5);
        Assert.Equal(Math.Sqrt((from * from) + (to * to)), found.USeconds, 2e-5);
        Assert.True(found.USeconds < 0.01 * found.Seconds * 50e-6);
    }

    [Fact]
    public void Two_speeds_of_the_same_marks_are_no_more_unsure_apart_than_their_deceleration_says()
    {
        DecayTime found = DecayTime.Between(Exponential(600, 2500, 1), 0, 1000, 999, 0)!;
        Assert.Equal(found.Seconds * 0.001 / (1000 / 600.0), found.USeconds, 1e-6);
    }

    private static List<SpeedPoint> WithClock(List<SpeedPoint> speed, double ppm) =>
        [.. speed.Select(p => p with
        {
            URpm = double.Hypot(p.URpm, p.Rpm * ppm * 1e-6),
            UDecelRpmPerS = double.Hypot(p.UDecelRpmPerS, 2 * p.DecelRpmPerS * ppm * 1e-6),
        })];

    [Fact]
    public void Where_the_signal_was_lost_at_one_of_the_speeds_there_is_none()
    {
        double passesS = 600 * Math.Log(2500 / 2000.0);
        Assert.Null(DecayTime.Between(Exponential(600, 2500, 1, t => Math.Abs(t - passesS) < 5), 0, 2000, 500, 0));
        Assert.NotNull(DecayTime.Between(Exponential(600, 2500, 1, t => Math.Abs(t - passesS - 100) < 5), 0, 2000, 500, 0));
    }

    [Fact]
    public void A_speed_that_the_run_never_passes_gives_none() =>
        Assert.Null(DecayTime.Between(Exponential(600, 1500, 1), 0, 2000, 500, 0));

    [Fact]
    public void What_comes_before_the_release_does_not_count()
    {
        List<SpeedPoint> speed = Exponential(600, 2500, 1);
        DecayTime late = DecayTime.Between(speed, 0, 1000, 500, 0)!;
        Assert.Null(DecayTime.Between(speed, late.FromS + 10, 1000, 500, 0));
    }

    [Fact]
    public void Speeds_in_the_wrong_order_are_a_callers_mistake() =>
        Assert.Throws<ArgumentOutOfRangeException>(() => DecayTime.Between(Exponential(600, 2500, 1), 0, 500, 2000, 0));
}
