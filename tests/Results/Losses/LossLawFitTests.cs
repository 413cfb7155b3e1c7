using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Results.Losses;
using Xunit;

namespace Acquire.Results.Tests.Losses;

public sealed class LossLawFitTests
{
    private const double RadPerS = Math.PI / 30;

    [Fact]
    public void A_known_law_is_found_within_its_uncertainty()
    {
        var spin = new TangentSpin(0.3, 0.5, 2400);
        FittedLaw law = LossLawFit.Of(TangentSpin.Of(spin.Marks(300, 2e-5, 3)))!;
        Assert.Equal([0, 2], law.Law.Terms.Select(t => t.Exponent));
        Estimate dry = law.Coefficient(0);
        Assert.Equal(spin.Dry, dry.Value, 4 * dry.U);
        Assert.Equal(spin.Quadratic, law.Coefficient(2).Value, 4 * law.Coefficient(2).U);
        Estimate time = law.TimeBetween(2000 * RadPerS, 500 * RadPerS);
        Assert.Equal(spin.TimeS(500) - spin.TimeS(2000), time.Value, 4 * time.U);
        Assert.True(time.U < 1e-3);
        Estimate share = law.Share([0], 1000 * RadPerS);
        Assert.Equal(spin.Dry / (spin.Dry + spin.Quadratic), share.Value, 4 * share.U);
    }

    [Fact]
    public void What_the_data_cannot_tell_apart_is_named_together_and_its_sum_is_known()
    {
        // A fifth of the speed is too little to tell powers apart.
        var spin = new TangentSpin(0.3, 0.5, 1200);
        FittedLaw law = LossLawFit.Of(TangentSpin.Of(spin.Marks(1000, 3e-4, 5)))!;
        Assert.Contains(law.Groups, g => g.Count > 1);
        Estimate all = law.Deceleration(1100 * RadPerS);
        double truth = spin.Dry + (spin.Quadratic * 1.21);
        Assert.Equal(truth, all.Value, 4 * all.U);
        Assert.True(law.Coefficient(law.Law.Terms[0].Exponent).U > 10 * all.U);
        Assert.Equal(1, Enumerable.Range(0, law.Candidates.Count).Sum(law.Weight), 1e-12);
    }

    [Fact]
    public void A_wobble_that_is_known_costs_next_to_nothing()
    {
        var spin = new TangentSpin(0.3, 0.5, 2400);
        const double Constant = 0.5 * 1000 / 60;
        double phase = 0, last = 0;
        double Wobble(double t)
        {
            phase += 2 * Math.PI * Constant / (spin.Rpm(t) / 60) * (t - last);
            last = t;
            return 0.003 * Math.Cos(phase);
        }

        List<JudgedPulse> marks = spin.Marks(300, 2e-5, 7, Wobble);
        FittedLaw without = LossLawFit.Of(TangentSpin.Of(marks))!;
        FittedLaw with = LossLawFit.Of(TangentSpin.Of(marks), 0, Constant)!;
        Estimate time = with.TimeBetween(2000 * RadPerS, 500 * RadPerS);
        Assert.Equal(spin.TimeS(500) - spin.TimeS(2000), time.Value, 4 * time.U);
        Assert.True(time.U < 0.5 * without.TimeBetween(2000 * RadPerS, 500 * RadPerS).U);
    }

    [Fact]
    public void A_count_of_turns_that_is_off_after_a_gap_does_no_harm()
    {
        var spin = new TangentSpin(0.3, 0.5, 2400);
        List<JudgedPulse> marks = [.. spin.Marks(300, 2e-5, 9).Where(m => m.Ticks is < 60_000_000_000 or > 90_000_000_000)
            .Select(m => m.Ticks > 90_000_000_000 ? m with { Turns = m.Turns + 3 } : m)];
        Estimate time = LossLawFit.Of(TangentSpin.Of(marks))!.TimeBetween(2000 * RadPerS, 500 * RadPerS);
        Assert.Equal(spin.TimeS(500) - spin.TimeS(2000), time.Value, 4 * time.U);
    }

    [Fact]
    public void Speeds_alone_give_the_law_too()
    {
        var spin = new TangentSpin(0.3, 0.5, 2400);
        var random = new Random(4);
        List<SpeedPoint> speed = [.. Enumerable.Range(0, 200).Select(i => new SpeedPoint(i, spin.Rpm(i) + (0.4 * (random.NextDouble() - 0.5)), 0.12, double.NaN, double.NaN))];
        FittedLaw law = LossLawFit.Of(speed, 2, 190)!;
        Estimate time = law.TimeBetween(2000 * RadPerS, 800 * RadPerS);
        Assert.Equal(spin.TimeS(800) - spin.TimeS(2000), time.Value, 4 * time.U);
        Assert.InRange(time.U, 1e-4, 0.5);
    }

    [Fact]
    public void Marks_that_speed_up_and_too_few_marks_have_no_law()
    {
        List<JudgedPulse> marks = new TangentSpin(0.3, 0.5, 2400).Marks(300, 0, 1);
        Assert.Null(LossLawFit.Of(TangentSpin.Of([.. marks.Take(30)])));
        long end = marks[^1].Ticks;
        double turns = marks[^1].Turns;
        Assert.Null(LossLawFit.Of(TangentSpin.Of([.. marks.AsEnumerable().Reverse().Select(m => m with { Ticks = end - m.Ticks, Turns = turns - m.Turns })])));
    }

    [Fact]
    public void An_unsure_clock_is_in_the_uncertainty_of_a_time_and_of_a_coefficient()
    {
        var spin = new TangentSpin(0.3, 0.5, 2400);
        FittedLaw law = LossLawFit.Of(TangentSpin.Of(spin.Marks(300, 2e-5, 3)), uRatePpm: 1000)!;
        Assert.Equal(2e-3 * spin.Dry, law.Coefficient(0).U, 1e-5);   // (2 − p) parts in a thousand
        double seconds = spin.TimeS(500) - spin.TimeS(2000);
        // By how much the time changes where ω is 1 ‰ higher and ω̇ 2 ‰.
        double scaled = new LossLaw([new(0, spin.Dry * 1.002), new(2, spin.Quadratic)]).TimeBetween(2000 * RadPerS, 500 * RadPerS);
        Assert.Equal(Math.Abs(scaled - seconds), law.TimeBetween(2000 * RadPerS, 500 * RadPerS).U, 0.02 * Math.Abs(scaled - seconds));
    }
}
