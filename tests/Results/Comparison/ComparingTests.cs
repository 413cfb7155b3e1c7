using Acquire.Results.Air;
using Acquire.Results.Comparison;
using Acquire.Results.Losses;
using Xunit;

namespace Acquire.Results.Tests.Comparison;

public sealed class ComparingTests
{
    private const double Sd = 0.012;

    private static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    private static List<TimedRun> Runs(DrawnSpin spin, int count, string name, int seed, string cover = "", double firstH = 0, double everyH = 2)
    {
        var random = new Random(seed);
        return [.. Enumerable.Range(0, count).Select(i => (spin with { Scale = Math.Exp(Sd * Normal(random)) }).Run($"{name}-{i}", firstH + (everyH * i), cover))];
    }

    private static RunComparison Compare(IReadOnlyList<TimedRun> baseline, IReadOnlyList<TimedRun> variant, IReadOnlyList<TimedRun>? library = null, double? start = null)
    {
        RunComparison? found = new Comparing(2000, 500, start, library ?? []).Compare(new("bare", baseline), [new("cover", variant)], out string? problem);
        Assert.Null(problem);
        return found!;
    }

    // Common practice, no source: a cover that gains about a fifth between 2000 and 500 rpm can gain under a tenth on the whole spin.
    [Fact]
    public void A_cover_that_cuts_the_drag_only_above_a_speed_is_seen_in_those_bands_with_its_size_and_in_the_whole_spin()
    {
        var bare = new DrawnSpin { Loss = (0.03, 0.5, 0.25), EndRpm = 120, PeakRpm = 2100 };
        DrawnSpin covered = bare with { Cut = 0.36, AboveRpm = 950 };
        VariantResult found = Compare(Runs(bare, 5, "bare", 1), Runs(covered, 5, "cover", 2, firstH: 1), start: 2050).Variants[0];
        double truth = 100 * ((covered.DecayS(2000, 500) / bare.DecayS(2000, 500)) - 1);
        double whole = 100 * ((covered.DecayS(2050, 125) / bare.DecayS(2050, 125)) - 1);
        Assert.InRange(truth, 17, 23);
        Assert.InRange(whole, 4, 10);
        Assert.InRange(truth, found.Change.LowPercent, found.Change.HighPercent);
        Assert.True(found.Change.IsShown);
        Assert.NotNull(found.WholeSpin);
        Assert.Empty(found.WholeSpin.Extended);
        Assert.InRange(whole, found.WholeSpin.Change.LowPercent, found.WholeSpin.Change.HighPercent);
        Assert.True(found.WholeSpin.Change.HighPercent - found.WholeSpin.Change.LowPercent < 8);
        foreach (BandChange band in found.Bands)
        {
            double inBand = 100 * ((covered.DecayS(band.FromRpm, band.ToRpm) / bare.DecayS(band.FromRpm, band.ToRpm)) - 1);
            Assert.InRange(inBand, band.Change!.LowPercent - 0.5, band.Change.HighPercent + 0.5);
            Assert.Equal(band.ToRpm >= 750, band.IsShown);
        }

        Assert.Empty(found.Warnings);
    }

    [Fact]
    public void One_run_each_has_an_interval_by_the_librarys_repeatability_only()
    {
        var bare = new DrawnSpin();
        List<TimedRun> one = Runs(bare, 1, "bare", 3);
        List<TimedRun> other = Runs(bare with { Cut = 0.3 }, 1, "cover", 4, "ring");
        Change alone = Compare(one, other).Variants[0].Change;
        Assert.Equal(ChangeBasis.MeasurementOnly, alone.Basis);
        Assert.True(double.IsNaN(alone.LowPercent) && double.IsNaN(alone.P));
        Assert.True(alone.UPercent is > 0 and < 0.1);
        RunComparison beside = Compare(one, other, [.. Runs(new DrawnSpin { Cut = 0.1 }, 4, "a", 5, "a"), .. Runs(new DrawnSpin { Cut = 0.2 }, 4, "b", 6, "b")]);
        Change change = beside.Variants[0].Change;
        Assert.Equal(ChangeBasis.LibraryScatter, change.Basis);
        Assert.Equal(6, change.Logs.DegreesOfFreedom);
        Assert.Equal(beside.Scatter.Sd * Math.Sqrt(2), change.Logs.U, 1e-9);
        Assert.Equal(alone.Percent, change.Percent, 1e-9);
    }

    [Fact]
    public void Measurement_that_is_worse_than_the_scatter_sets_the_uncertainty()
    {
        LogTime[] a = [new(5, 0.02), new(5.0001, 0.02)];
        LogTime[] b = [new(5.1, 0.02), new(5.1001, 0.02)];
        Change change = Change.Of(a, b, default)!;
        Assert.Equal(0.02, change.Logs.U, 1e-12);
        Assert.True(double.IsInfinity(change.Logs.DegreesOfFreedom));
        Assert.Equal(100 * (Math.Exp(0.1 - (1.959964 * 0.02)) - 1), change.LowPercent, 1e-4);
    }

    [Fact]
    public void Runs_that_do_not_pass_the_speeds_are_named_with_the_reason()
    {
        var bare = new DrawnSpin();
        TimedRun[] baseline =
        [
            .. Runs(bare, 3, "bare", 7), (bare with { PeakRpm = 1900 }).Run("slow"), (bare with { EndRpm = 600 }).Run("short"),
            bare.Run("blind", isLost: rpm => rpm is < 520 and > 480), bare.Run("gap", isLost: rpm => rpm is < 1300 and > 1200),
        ];
        RunComparison found = Compare(baseline, Runs(bare, 3, "cover", 8, firstH: 1));
        Assert.Equal(4, found.Baseline.Count);
        Assert.Matches("^it began at 189[0-9] rpm, below 2000$", Assert.Single(found.LeftOut, l => l.Run == "slow").Why);
        Assert.StartsWith("it was last seen at 6", Assert.Single(found.LeftOut, l => l.Run == "short").Why);
        Assert.Equal("the signal was lost when it passed 500 rpm", Assert.Single(found.LeftOut, l => l.Run == "blind").Why);
        Assert.StartsWith("gap: the signal was lost for ", Assert.Single(found.Notes));
        Assert.Equal(3, found.Variants[0].Bands.Single(b => b.FromRpm == 1250).Change!.Baseline);
    }

    [Fact]
    public void Where_no_run_is_left_the_answer_says_why_and_what_can_be_asked()
    {
        List<TimedRun> slow = Runs(new DrawnSpin { PeakRpm = 1800 }, 2, "slow", 9);
        Assert.Null(new Comparing(2000, 500, null, []).Compare(new("bare", slow), [new("cover", slow)], out string? problem));
        Assert.StartsWith("no run of the baseline bare can be timed from 2000 to 500 rpm: slow-0: it began at 1", problem);
        Assert.Contains("All of them were seen between 17", problem);
    }

    [Fact]
    public void Runs_in_two_blocks_and_a_drift_of_the_size_of_the_change_are_warned_of()
    {
        var bare = new DrawnSpin();
        TimedRun[] Drifting(double fromH, string name) => [.. Enumerable.Range(0, 4).Select(i => (bare with { Scale = Math.Exp(-0.02 * (fromH + i)) * (1 + (0.002 * (i % 2))) }).Run($"{name}{i}", fromH + i))];
        IReadOnlyList<string> warnings = Compare(Drifting(0, "a"), Drifting(4, "b")).Variants[0].Warnings;
        Assert.Contains(warnings, w => w.StartsWith("all runs of the baseline came before all of the variant", StringComparison.Ordinal));
        Assert.Contains(warnings, w => w.StartsWith("within the groups the decay time changed by +2.", StringComparison.Ordinal));
    }

    [Fact]
    public void Groups_of_other_temperature_and_of_more_than_one_difference_are_warned_of()
    {
        var bare = new DrawnSpin();
        TimedRun[] Some(double degrees, string name, string dish, string cover, double fromH) => [.. Enumerable.Range(0, 3).Select(i =>
        {
            TimedRun run = (bare with { Scale = 1 + (0.01 * i) }).Run($"{name}{i}", fromH + (2 * i), cover);
            return run with { TemperatureC = degrees + (0.1 * i), Setup = new Dictionary<string, string>(run.Setup) { ["base"] = dish } };
        })];
        IReadOnlyList<string> warnings = Compare(Some(18, "a", "glass", "none", 0), Some(24, "b", "steel", "ring", 1)).Variants[0].Warnings;
        Assert.Contains(warnings, w => w.StartsWith("the variant was spun at 24.1 °C, the baseline at 18.1 °C", StringComparison.Ordinal));
        Assert.Contains(warnings, w => w.StartsWith("more than one thing differs: base is glass in the baseline, steel in the variant; cover is", StringComparison.Ordinal));
    }

    [Fact]
    public void A_run_far_off_is_flagged_by_what_other_set_ups_scatter_and_still_counts()
    {
        var bare = new DrawnSpin();
        List<TimedRun> baseline = Runs(bare, 4, "bare", 10);
        baseline[2] = (bare with { Scale = 0.9 }).Run("bare-2", 4);
        RunComparison found = Compare(baseline, Runs(bare, 5, "cover", 11, "ring", 1));
        Assert.StartsWith("bare-2", Assert.Single(found.Outlying).Run);
        Assert.Equal(4, found.Variants[0].Change.Baseline);
    }

    // A boundary layer's drag goes as √(ρμ), pressure drag as ρ (similarity; any textbook of fluid mechanics).
    [Fact]
    public void Runs_in_thin_air_are_brought_to_reference_air_and_the_change_as_spun_is_told_too()
    {
        MoistAir thin = MoistAir.Of(20, 70_000, 0.5)!;
        (double density, double viscosity) = (thin.DensityKgM3 / AirCorrection.Usual.DensityKgM3, thin.ViscosityPaS / AirCorrection.Usual.ViscosityPaS);
        var bare = new DrawnSpin();
        DrawnSpin inThin = bare with { Loss = (bare.Loss.Dry, bare.Loss.Laminar * Math.Sqrt(density * viscosity), bare.Loss.Pressure * density) };
        List<TimedRun> Known(DrawnSpin spin, MoistAir air, string name, int seed, double firstH) =>
            [.. Runs(spin, 4, name, seed, firstH: firstH).Select(r => r with { Air = new AirCorrection([(Law(spin), 1)], air, AirCorrection.Usual) })];
        VariantResult found = Compare(Known(bare, AirCorrection.Usual, "bare", 14, 0), Known(inThin, thin, "thin", 14, 1)).Variants[0];
        Assert.InRange(found.PercentBeforeAir!.Value, 20, 40);
        Assert.Equal(100 * ((inThin.DecayS(2000, 500) / bare.DecayS(2000, 500)) - 1), found.PercentBeforeAir.Value, 0.01);
        Assert.Equal(0, found.Change.Percent, 0.01);
    }

    private static LossLaw Law(DrawnSpin spin)
    {
        const double RadPerRpm = Math.PI / 30;
        return new([new(0, spin.Loss.Dry * RadPerRpm), new(1.5, spin.Loss.Laminar * RadPerRpm), new(2, spin.Loss.Pressure * RadPerRpm)]);
    }

    [Fact]
    public void A_start_above_what_was_seen_is_extended_and_said()
    {
        var bare = new DrawnSpin { PeakRpm = 2100 };
        var covered = bare with { Cut = 0.3, AboveRpm = 400 };
        WholeSpin found = Compare(Runs(bare, 4, "bare", 12), Runs(covered, 4, "cover", 13, firstH: 1), start: 2600).Variants[0].WholeSpin!;
        Assert.Equal(2, found.Extended.Count);
        Assert.StartsWith("baseline: no run was seen above 20", found.Extended[0]);
        DrawnSpin Fast(DrawnSpin spin) => spin with { PeakRpm = 2700 };
        double truth = 100 * ((Fast(covered).DecayS(2600, found.EndRpm) / Fast(bare).DecayS(2600, found.EndRpm)) - 1);
        Assert.InRange(truth, found.Change.LowPercent - 0.5, found.Change.HighPercent + 0.5);
    }
}
