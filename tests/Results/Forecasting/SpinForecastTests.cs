using System.Diagnostics;
using System.Globalization;
using Acquire.Results.Forecasting;
using Acquire.Results.Losses;
using Acquire.Results.Tests.Losses;
using Xunit;

namespace Acquire.Results.Tests.Forecasting;

public sealed class SpinForecastTests
{
    private const double Rpm = Math.PI / 30;
    private const double Reference = LossLaw.OmegaRefRadPerS;
    private static readonly EndSpeed At300 = new(300, 0, double.PositiveInfinity, EndBasis.Given);

    private static LawEvidence Seen(TangentSpin spin, double toRpm, double jitterS = 2e-5) => LawEvidence.Of(TangentSpin.Of(spin.Marks(toRpm, jitterS, 3)))!;

    [Theory]
    [InlineData(2100)]
    [InlineData(1600)]
    [InlineData(800)]
    public void The_interval_holds_the_end_of_a_spin_in_closed_form(double seenToRpm)
    {
        var spin = new TangentSpin(0.3, 0.5, 2400);
        LawEvidence evidence = Seen(spin, seenToRpm);
        SpinForecast forecast = SpinForecast.Of(evidence, At300, 0);
        double truth = spin.TimeS(300) - evidence.ToS;
        Assert.InRange(truth, forecast.RemainingS.Low, forecast.RemainingS.High);
        Assert.True(forecast.RemainingS.High - forecast.RemainingS.Low < 0.8 * truth);
        Assert.Equal(seenToRpm, forecast.NowRpm, 0.5);
        IReadOnlyList<Spread> speeds = forecast.SpeedRpm([0.3 * truth, 1.3 * forecast.RemainingS.High]);
        Assert.Equal(spin.Rpm(evidence.ToS + (0.3 * truth)), speeds[0].Median, 0.02 * seenToRpm);
        Assert.Equal(0, speeds[1].High);
    }

    [Fact]
    public void The_more_is_seen_the_narrower_it_is_and_doubt_of_end_and_clock_widens_it()
    {
        var spin = new TangentSpin(0.3, 0.5, 2400);
        double Width(double toRpm, EndSpeed end, double clock) => SpinForecast.Of(Seen(spin, toRpm), end, clock).RemainingS is var left ? (left.High - left.Low) / left.Median : 0;
        double early = Width(2100, At300, 0);
        double late = Width(600, At300, 0);
        Assert.True(late < 0.5 * early, $"{late} {early}");
        double end = Width(600, At300 with { Share = 0.05 }, 0);
        Assert.True(end > 3 * late, $"{end} {late}");

        // Seconds too long by a share make speeds too high by it: of what is left the end's share is taken back.
        double left = spin.TimeS(300) - spin.TimeS(1200);
        double byClock = 2 * 1.96 * 0.05 * Math.Abs(left - (300 * Rpm / (0.3 + (0.5 * 0.09))));
        double seen = Width(1200, At300, 0);
        Assert.Equal(double.Hypot(byClock / left, seen), Width(1200, At300, 0.05), 0.15 * byClock / left);
    }

    [Fact]
    public void No_law_that_is_drawn_has_a_negative_loss_and_all_decelerate_as_seen()
    {
        var spin = new TangentSpin(0.3, 0.5, 1400);
        LawEvidence evidence = Seen(spin, 1200, 1e-4);
        LawDraws draws = LawDraws.Of(evidence, 700 * Rpm);
        Assert.Equal(LawDraws.Kept, draws.All.Count);
        Assert.True(draws.Effective > 200, $"{draws.Effective}");
        double truth = 0.3 + (0.5 * 1.3 * 1.3);
        foreach (LawDraws.Draw draw in draws.All)
        {
            Assert.All(draw.Law.Terms, t => Assert.True(t.Coefficient > 0));
            Assert.Equal(truth, draw.Law.Deceleration(1300 * Rpm), 0.003 * truth);
            Assert.Equal(1200, draw.LastRadPerS / Rpm, 0.5);
        }

        // At a quarter of the speed they need not agree.
        Assert.True(draws.All.Max(d => d.Law.Deceleration(300 * Rpm)) > 1.5 * draws.All.Min(d => d.Law.Deceleration(300 * Rpm)));
    }

    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    [InlineData(1.5)]
    [InlineData(1.8)]
    [InlineData(2)]
    public void The_time_of_one_power_is_its_closed_form(double exponent)
    {
        (double from, double to) = (2400 * Rpm, 250 * Rpm);
        double scale = Math.Pow(Reference, exponent) / 0.4;
        double exact = exponent == 1 ? scale * Math.Log(from / to) : scale * (Math.Pow(from, 1 - exponent) - Math.Pow(to, 1 - exponent)) / (1 - exponent);
        Assert.Equal(exact, new LossLaw([new(exponent, 0.4)]).TimeBetween(from, to), 1e-11 * exact);
    }

    // scipy: integrate.solve_ivp, DOP853 to 1e-12 (Debian's python3-scipy).
    [Fact]
    public void The_time_of_many_terms_is_that_of_scipys_equation_of_motion()
    {
        LossLaw law = new([new(0, 0.021), new(1, 0.013), new(1.5, 0.05), new(1.8, 0.004), new(2, 0.03)]);
        var start = new ProcessStartInfo("/usr/bin/python3", [Path.Combine(AppContext.BaseDirectory, "reference_decay.py"), Text(2600 * Rpm), Text(220 * Rpm), Text(Reference), .. law.Terms.Select(t => $"{Text(t.Exponent)},{Text(t.Coefficient)}")])
        {
            RedirectStandardOutput = true,
        };
        using Process python = Process.Start(start)!;
        double scipy = double.Parse(python.StandardOutput.ReadToEnd(), CultureInfo.InvariantCulture);
        python.WaitForExit();
        Assert.Equal(scipy, law.TimeBetween(2600 * Rpm, 220 * Rpm), 1e-8 * scipy);
    }

    [Fact]
    public void Earlier_spins_that_did_otherwise_have_the_last_word()
    {
        var spin = new TangentSpin(0.3, 0.5, 2400);
        LawEvidence evidence = Seen(spin, 1200);
        double product = (spin.TimeS(310) - spin.TimeS(1200)) * (0.3 + (0.5 * 1.44));
        SpinForecast agreed = SpinForecast.Of(evidence, At300, 0, 0, null, EarlierSpins.Of(310, [product * 1.001, product * 0.999, product]));
        Assert.Equal(EarlierUse.Agree, agreed.Use);
        SpinForecast other = SpinForecast.Of(evidence, At300, 0, 0, null, EarlierSpins.Of(310, [product * 0.802, product * 0.8, product * 0.798]));
        Assert.Equal(EarlierUse.Contradict, other.Use);
        Assert.Equal(0.8 * (spin.TimeS(300) - evidence.ToS), other.RemainingS.Median, 0.01 * (spin.TimeS(300) - evidence.ToS));
    }

    [Fact]
    public void A_spin_that_two_laws_follow_in_turn_is_forecast_by_the_later()
    {
        // A cover that ceases to help: above 1500 rpm one law, below another.
        (TangentSpin fast, TangentSpin slow) = (new TangentSpin(0.03, 0.03, 2400), new TangentSpin(0.03, 0.05, 1500));
        List<Acquire.Conditioning.JudgedPulse> first = fast.Marks(1500, 2e-5, 3);
        List<Acquire.Conditioning.JudgedPulse> then = slow.Marks(600, 2e-5, 4);
        long shift = first[^1].Ticks + (long)(1e9 / 25);
        var all = first.Concat(then.Select(p => p with { Ticks = p.Ticks + shift, Turns = p.Turns + first[^1].Turns + 1 })).ToList();
        double toS = all[^1].Ticks * 1e-9;
        LawEvidence late = LawEvidence.OfLate(0, toS, null, (from, to) => LawEvidence.Of(SpinMarks.Of(all, 1e-9, from, to)))!;
        Assert.True(late.FromS > 0.4 * toS && late.Colour < 4, $"{late.FromS} {late.Colour}");
        Spread left = SpinForecast.Of(late, At300, 0).RemainingS;
        Assert.Equal(slow.TimeS(300) - slow.TimeS(600), left.Median, 0.01 * left.Median);
    }

    private static string Text(double value) => value.ToString("R", CultureInfo.InvariantCulture);
}
