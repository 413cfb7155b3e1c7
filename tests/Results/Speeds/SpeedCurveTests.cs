using Acquire.Motion;
using Acquire.Results.Speeds;
using Xunit;

namespace Acquire.Results.Tests.Speeds;

public sealed class SpeedCurveTests
{
    private const double TauS = 300;
    private const double Peak = 1800;

    // Launched in two seconds, then an exponential decay.
    private static double Speed(double t) => t < 2 ? Peak * t / 2 : Peak * Math.Exp(-(t - 2) / TauS);

    private static double Deceleration(double t) => t < 2 ? -Peak / 2 : Speed(t) / TauS;

    private static SpeedCurve Fit(double stepS, Func<double, double> speed, double endS = 500, Func<double, bool>? without = null)
    {
        double[] times = [.. Enumerable.Range(0, (int)(endS / stepS) + 1).Select(i => i * stepS).Where(t => without?.Invoke(t) != true)];
        return SpeedCurve.Fit(times, [.. times.Select(speed)], 1);
    }

    private static double Normal(Random random) => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    [Fact]
    public void Samples_without_noise_come_out_as_they_are()
    {
        SpeedCurve curve = Fit(0.5, Speed);
        foreach (SpeedPoint p in curve.Points.Where(p => p.TimeS >= 2))
        {
            Assert.Equal(Speed(p.TimeS), p.Rpm, 0.01);
            Assert.Equal(Deceleration(p.TimeS), p.DecelRpmPerS, 0.01);
        }

        Assert.Equal(2, curve.ReleaseS, 0.01);
        Assert.Equal(Peak, curve.PeakRpm, 0.05);
    }

    // White noise, noise that neighbours share, and an instrument that shows whole turns a minute: 95 % intervals over many runs.
    [Theory]
    [InlineData(2.0, 0, 0)]
    [InlineData(2.0, 0.6, 0)]
    [InlineData(0.3, 0, 1)]
    public void Stated_uncertainties_hold_the_truth_in_95_of_100_cases(double noise, double alike, double resolution)
    {
        var random = new Random(8);
        (int speeds, int decelerations, int all) = (0, 0, 0);
        for (int run = 0; run < 40; run++)
        {
            double before = 0;
            SpeedCurve curve = Fit(1, t =>
            {
                before = (alike * before) + (Math.Sqrt(1 - (alike * alike)) * noise * Normal(random));
                double shown = Speed(t) + before;
                return resolution > 0 ? Math.Round(shown / resolution) * resolution : shown;
            });
            foreach (SpeedPoint p in curve.Points.Where(p => p.TimeS is > 5 and < 495 && p.TimeS % 20 == 0))
            {
                speeds += Math.Abs(p.Rpm - Speed(p.TimeS)) < 1.96 * p.URpm ? 1 : 0;
                decelerations += Math.Abs(p.DecelRpmPerS - Deceleration(p.TimeS)) < 1.96 * p.UDecelRpmPerS ? 1 : 0;
                all++;
            }
        }

        Assert.InRange(speeds / (double)all, 0.92, 0.985);
        Assert.InRange(decelerations / (double)all, 0.92, 0.985);
    }

    [Fact]
    public void Nothing_is_invented_where_samples_are_missing()
    {
        SpeedCurve curve = Fit(1, Speed, without: t => t is > 100 and < 150);
        Assert.Equal((100, 150), Assert.Single(curve.Gaps));
        Assert.All(curve.Points.Where(p => p.TimeS is > 100 and < 150), p => Assert.True(double.IsNaN(p.Rpm)));
        Assert.All(curve.Points.Where(p => p.TimeS is <= 100 or >= 150), p => Assert.True(double.IsFinite(p.Rpm)));
    }

    [Fact]
    public void A_dozen_readings_of_a_hand_held_instrument_make_a_curve()
    {
        SpeedCurve curve = Fit(40, t => Peak * Math.Exp(-t / TauS));
        Assert.Equal(0, curve.ReleaseS);
        Assert.All(curve.Points, p => Assert.InRange(p.Rpm, 0.97 * Peak * Math.Exp(-p.TimeS / TauS), 1.03 * Peak * Math.Exp(-p.TimeS / TauS)));
    }

    [Fact]
    public void One_wild_sample_is_no_peak()
    {
        SpeedCurve curve = Fit(1, t => t == 50 ? 5000 : Speed(t));
        Assert.InRange(curve.ReleaseS, 0, 5);
        Assert.InRange(curve.PeakRpm, 1500, 2100);
    }

    [Fact]
    public void Many_samples_a_second_are_grouped_and_say_the_same()
    {
        var random = new Random(3);
        SpeedCurve curve = Fit(0.002, t => Speed(t) + (5 * Normal(random)), endS: 200);
        foreach (SpeedPoint p in curve.Points.Where(p => p.TimeS is > 5 and < 195))
            Assert.Equal(Speed(p.TimeS), p.Rpm, 5 * Math.Max(p.URpm, 1e-3));
    }
}
