using Acquire.Results.Braking;
using Acquire.Results.Losses;
using Xunit;

namespace Acquire.Results.Tests.Braking;

public sealed class BrakeBenchTests
{
    private const double Rpm = Math.PI / 30;
    private const double SdW = 0.004;
    private readonly Random _random = new(20270314);

    private static double BareW(double w) => w * (2e-3 + (3e-6 * w) + (1e-8 * w * w));

    private double Normal() => Math.Sqrt(-2 * Math.Log(1 - _random.NextDouble())) * Math.Cos(2 * Math.PI * _random.NextDouble());

    private BenchConfiguration Read(string name, Func<double, double> torqueNm, double fromRpm = 600, double toRpm = 3000, double sdW = SdW, int repeats = 2) =>
        new(name, [.. Enumerable.Range(0, 13 * repeats).Select(i =>
        {
            double w = Rpm * (fromRpm + ((toRpm - fromRpm) * (i / repeats) / 12));
            return new BenchReading(i + 2, w, BareW(w) + (w * torqueNm(w)) + (sdW * Normal()));
        })]);

    private static BrakeBench Of(BenchConfiguration bare, params BenchConfiguration[] all)
    {
        BrakeBench? bench = BrakeBench.Of(bare, all, 0, out string? problem);
        Assert.True(bench is not null, problem);
        return bench;
    }

    [Fact]
    public void Torque_is_the_power_beyond_the_bare_motors_over_the_speed()
    {
        double Truth(double w) => 4e-4 + (3e-8 * w * w);
        BrakeCurve curve = Assert.Single(Of(Read("bare", _ => 0, sdW: 1e-7), Read("wheel", Truth, sdW: 1e-7)).Curves);
        foreach (BrakePoint point in curve.Points)
            Assert.Equal(1, point.TorqueNm / Truth(point.Reading.RadPerS), 1e-4);
        Assert.Equal(1, curve.TorqueNm(1750 * Rpm).Value / Truth(1750 * Rpm), 1e-5);
    }

    [Fact]
    public void A_reading_at_a_speed_at_which_the_bare_motor_was_not_read_is_no_torque_and_is_counted()
    {
        BrakeCurve curve = Of(Read("bare", _ => 0, 800, 2400), Read("wheel", _ => 1e-3)).Curves[0];
        BrakePoint[] outside = [.. curve.Points.Where(p => p.Reading.RadPerS < 0.99 * 800 * Rpm || p.Reading.RadPerS > 1.01 * 2400 * Rpm)];
        Assert.Equal(8, outside.Length);
        Assert.All(outside, p => Assert.True(double.IsNaN(p.TorqueNm) && double.IsNaN(p.UTorqueNm) && p.Flagged));
        Assert.Equal(8, curve.Outside);
        Assert.InRange(curve.LowRadPerS, 0.99 * 800 * Rpm, 801 * Rpm);
    }

    [Fact]
    public void Readings_far_off_are_flagged_in_bare_motor_and_body_and_move_nothing()
    {
        double Truth(double w) => 3e-4 + (2e-8 * w * w);
        (BenchConfiguration bare, BenchConfiguration wheel) = (Read("bare", _ => 0), Read("wheel", Truth));
        BrakeCurve clean = Of(bare, wheel).Curves[0];
        BenchReading[] spoilt = [.. wheel.Readings];
        spoilt[5] = spoilt[5] with { PowerW = spoilt[5].PowerW + (30 * SdW) };
        spoilt[20] = spoilt[20] with { PowerW = spoilt[20].PowerW - (25 * SdW) };
        BenchReading[] wrongRange = [.. bare.Readings];
        wrongRange[12] = wrongRange[12] with { PowerW = wrongRange[12].PowerW / 10 };
        BrakeBench bench = Of(bare with { Readings = wrongRange }, wheel with { Readings = spoilt });
        Assert.Equal([12], Enumerable.Range(0, wrongRange.Length).Where(i => bench.Bare.Flagged[i]));
        Assert.Equal([5, 20], Enumerable.Range(0, spoilt.Length).Where(i => bench.Curves[0].Points[i].Flagged));
        Assert.Equal(2, bench.Curves[0].Far);
        foreach (double rpm in new[] { 800.0, 1600, 2800 })
        {
            Estimate found = bench.Curves[0].TorqueNm(rpm * Rpm);
            Assert.InRange(clean.TorqueNm(rpm * Rpm).Value, found.Value - found.U, found.Value + found.U);
        }
    }

    [Fact]
    public void The_speed_from_which_one_brakes_less_is_found_with_its_interval()
    {
        double First(double w) => 2e-4 + (6e-4 * Math.Pow(w / (1500 * Rpm), 1.8));
        double Second(double w) => 4e-4 + (4e-4 * Math.Pow(w / (1500 * Rpm), 1.5));
        BrakeBench bench = Of(Read("bare", _ => 0), Read("first", First), Read("second", Second));
        BrakeComparison told = Assert.Single(bench.Comparisons);
        Assert.Equal(BrakeVerdict.LessAtSpeed, told.Verdict);
        Assert.InRange(1500 * Rpm, told.LowRadPerS, told.HighRadPerS);
        Assert.InRange(told.CrossingRadPerS, told.LowRadPerS, told.HighRadPerS);
        Assert.True(told.HighRadPerS - told.LowRadPerS < 700 * Rpm);
        BrakeComparison reverse = Of(Read("bare", _ => 0), Read("second", Second), Read("first", First)).Comparisons[0];
        Assert.Equal(BrakeVerdict.MoreAtSpeed, reverse.Verdict);
        Assert.InRange(1500 * Rpm, reverse.LowRadPerS, reverse.HighRadPerS);
    }

    // A cover that takes a third off the drag from some 1500 rpm on and nothing below, over a few turns of the knob: no more drag is made of it at any speed.
    [Fact]
    public void An_effect_that_sets_in_at_a_speed_is_shown_above_it_and_nothing_is_said_to_be_the_other_way_below()
    {
        double Open(double w) => 2e-4 + (3e-8 * w * w);
        double Cover(double w) => 2e-4 + (3e-8 * w * w * (1 - (0.35 / (1 + Math.Pow(1500 * Rpm / w, 14)))));
        for (int i = 0; i < 20; i++)
        {
            BrakeComparison told = Of(Read("bare", _ => 0, repeats: 3), Read("open", Open, repeats: 3), Read("cover", Cover, repeats: 3)).Comparisons[0];
            Assert.Equal(BrakeVerdict.LessAtSpeed, told.Verdict);
            Assert.InRange(told.HighRadPerS / Rpm, 1100, 1600);
            Assert.False(told.LowRadPerS > 1000 * Rpm, $"{i}: more below {told.LowRadPerS / Rpm:F0} rpm");
        }
    }

    [Fact]
    public void Where_the_bare_curve_is_off_torque_is_less_sure_but_differences_are_not()
    {
        double Truth(double w) => 3e-4 + (2e-8 * w * w);
        (BenchConfiguration first, BenchConfiguration second) = (Read("first", Truth), Read("second", w => 0.8 * Truth(w)));
        BrakeBench sure = Of(Read("bare", _ => 0, repeats: 8), first, second);
        BrakeBench unsure = Of(Read("bare", _ => 0, repeats: 1), first, second);
        double w = 2000 * Rpm;
        double scatter = unsure.Bare.Scatter.Sd / sure.Bare.Scatter.Sd;
        Assert.True(unsure.Curves[0].TorqueNm(w).U > 1.3 * scatter * sure.Curves[0].TorqueNm(w).U);
        Assert.Equal(scatter, unsure.Comparisons[0].At(w).HalfWidthNm / sure.Comparisons[0].At(w).HalfWidthNm, 0.1);
    }

    [Fact]
    public void A_difference_that_noise_drowns_is_said_not_to_show_with_the_speed_from_which_it_would()
    {
        const double Small = 1.2e-9; // N m s²: at 3000 rpm 0.12 mN m, and a reading's noise there 0.13 mN m
        double Truth(double w) => 3e-4 + (2e-8 * w * w);
        BenchConfiguration bare = Read("bare", _ => 0, sdW: 0.04), first = Read("first", Truth, sdW: 0.04, repeats: 1);
        BrakeComparison told = Of(bare, first, Read("second", w => Truth(w) - (Small * w * w), sdW: 0.04, repeats: 1)).Comparisons[0];
        Assert.Equal(BrakeVerdict.NotShown, told.Verdict);
        Assert.True(double.IsNaN(told.CrossingRadPerS) && double.IsNaN(told.HighRadPerS));
        Assert.True(told.WouldShowRadPerS > told.ToRadPerS || double.IsNaN(told.WouldShowRadPerS));

        // The same effect and noise, and speeds up to twice as high: shown there, and not at the speeds above.
        BrakeComparison higher = Of(Read("bare", _ => 0, toRpm: 9000, sdW: 0.04), Read("first", Truth, toRpm: 9000, sdW: 0.04), Read("second", w => Truth(w) - (Small * w * w), toRpm: 9000, sdW: 0.04)).Comparisons[0];
        Assert.Equal(BrakeVerdict.LessAtSpeed, higher.Verdict);
        Assert.True(double.IsNaN(higher.LowRadPerS));
        Assert.InRange(higher.HighRadPerS / Rpm, 2500, 7000);
    }

    [Fact]
    public void Below_the_speed_from_which_it_is_said_to_show_an_effect_does_not_show_and_well_above_it_does()
    {
        const double Small = 4e-10;
        double Truth(double w) => 3e-4 + (2e-8 * w * w);

        // Each setting is read twice, once too high and once too low by as much: curves are where they should be, and the scatter is known.
        BenchConfiguration Even(string name, Func<double, double> torque, double toRpm)
        {
            BenchConfiguration sheet = Read(name, torque, toRpm: toRpm, sdW: 0);
            return sheet with { Readings = [.. sheet.Readings.Select((r, i) => r with { PowerW = r.PowerW + (i % 2 == 0 ? 0.04 : -0.04) })] };
        }

        BrakeComparison UpTo(double rpm) => Of(Even("bare", _ => 0, rpm), Even("first", Truth, rpm), Even("second", w => Truth(w) - (Small * w * w), rpm)).Comparisons[0];
        BrakeComparison drowned = UpTo(3000);
        Assert.Equal(BrakeVerdict.NotShown, drowned.Verdict);
        double shows = drowned.WouldShowRadPerS / Rpm;
        Assert.InRange(shows, 3300, 7000);
        Assert.Equal(BrakeVerdict.NotShown, UpTo(0.85 * shows).Verdict);
        BrakeComparison shown = UpTo(1.7 * shows);
        Assert.Equal(BrakeVerdict.LessAtSpeed, shown.Verdict);
        Assert.InRange(shown.HighRadPerS / Rpm, 0.6 * shows, 1.6 * shows);
    }

    [Fact]
    public void The_winding_takes_what_its_current_costs()
    {
        const double Ohm = 2;
        const double NmPerA = 0.02;
        double Truth(double w) => 3e-4 + (2e-8 * w * w);
        BenchConfiguration Loaded(string name, Func<double, double> torque)
        {
            BenchConfiguration without = Read(name, torque, sdW: 1e-5);
            return without with
            {
                Readings = [.. without.Readings.Select(r =>
                {
                    double amps = ((BareW(r.RadPerS) / r.RadPerS) + torque(r.RadPerS)) / NmPerA;
                    return r with { PowerW = r.PowerW + (Ohm * amps * amps), Amps = amps };
                })],
            };
        }

        (BenchConfiguration bare, BenchConfiguration wheel) = (Loaded("bare", _ => 0), Loaded("wheel", Truth));
        double w = 2500 * Rpm;
        Assert.Equal(1, BrakeBench.Of(bare, [wheel], Ohm, out _)!.Curves[0].TorqueNm(w).Value / Truth(w), 1e-3);
        BrakeBench ignored = BrakeBench.Of(bare, [wheel], 0, out _)!;
        double tooHigh = ignored.Curves[0].TorqueNm(w).Value - Truth(w);
        Assert.True(tooHigh > 0.02 * Truth(w));
        Assert.InRange(tooHigh, 0, Ohm * ignored.AmpsPerOhmNm);
    }

    [Fact]
    public void Too_few_readings_are_said_to_be_too_few()
    {
        BenchConfiguration bare = Read("bare", _ => 0);
        Assert.Null(BrakeBench.Of(bare with { Readings = [.. bare.Readings.Take(4)] }, [Read("a", _ => 1e-3)], 0, out string? problem));
        Assert.Contains("has 4 readings", problem, StringComparison.Ordinal);
        BenchConfiguration few = Read("few", _ => 1e-3);
        BrakeBench bench = Of(bare, Read("a", _ => 1e-3), few with { Readings = [.. few.Readings.Take(3)] });
        Assert.False(bench.Curves[1].HasCurve);
        Assert.Equal(3, bench.Curves[1].Points.Count(p => double.IsFinite(p.TorqueNm)));
        Assert.Empty(bench.Comparisons);
    }
}
