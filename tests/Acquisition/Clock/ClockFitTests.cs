using Acquire.Acquisition.Clock;
using Acquire.Acquisition.Simulation;
using Xunit;

namespace Acquire.Acquisition.Tests.Clock;

/// <summary>Ensembles of simulated boards; the bars are the project's own: 5 ppm from one-way lines and 1 ppm with answers after an hour,
/// and a stated interval that holds the truth in 93 to 97 % of the cases.</summary>
public sealed class ClockFitTests
{
    private const int Seeds = 400;
    private const double TickHz = 2_000_000;

    [Fact]
    public void Lines_alone_give_the_rate_within_5_ppm_after_an_hour_and_say_how_well()
    {
        EnsembleResult result = new ClockEnsemble().Run(Seeds);

        Assert.True(result.WorstPpm < 5, $"{result}");
        Assert.InRange(result.Coverage, 0.93, 0.97);
    }

    [Fact]
    public void Delays_spread_evenly_up_to_16_ms_do_no_harm()
    {
        EnsembleResult result = new ClockEnsemble { UniformDelay = true }.Run(Seeds);

        Assert.True(result.WorstPpm < 5, $"{result}");
        Assert.InRange(result.Coverage, 0.93, 0.97);
    }

    [Fact]
    public void Answers_give_the_rate_within_1_ppm_after_an_hour_and_say_how_well()
    {
        EnsembleResult result = new ClockEnsemble { StatusEveryS = 0, AskEveryS = 10 }.Run(Seeds);

        Assert.True(result.WorstPpm < 1, $"{result}");
        Assert.InRange(result.Coverage, 0.93, 0.97);
    }

    [Fact]
    public void Lines_and_answers_together_are_no_worse()
    {
        EnsembleResult result = new ClockEnsemble { AskEveryS = 10 }.Run(Seeds);

        Assert.True(result.WorstPpm < 1, $"{result}");
        Assert.InRange(result.Coverage, 0.93, 0.97);
    }

    [Fact]
    public void A_host_time_scale_of_100_needs_no_setting()
    {
        EnsembleResult result = new ClockEnsemble { TimeScale = 100 }.Run(Seeds);

        Assert.True(result.WorstPpm < 5, $"{result}");
        Assert.InRange(result.Coverage, 0.93, 0.97);
    }

    [Fact]
    public void Stalls_of_seconds_are_told_from_the_line()
    {
        EnsembleResult result = new ClockEnsemble { StallProbability = 0.05 }.Run(Seeds);

        Assert.True(result.Error95Ppm < 0.05, $"{result}");
        Assert.InRange(result.Coverage, 0.93, 0.97);
    }

    [Fact]
    public void Restarts_keep_the_rate()
    {
        EnsembleResult result = new ClockEnsemble { Restarts = 3 }.Run(Seeds);

        Assert.True(result.WorstPpm < 5, $"{result}");
        Assert.InRange(result.Coverage, 0.93, 0.97);
    }

    [Fact]
    public void An_adapter_that_hands_over_every_16_ms_is_bound_all_the_same()
    {
        EnsembleResult result = new ClockEnsemble { LatencyTimer = true, DelayMeanS = 0.0005 }.Run(Seeds);

        Assert.True(result.WorstPpm < 5, $"{result}");
        Assert.InRange(result.Coverage, 0.93, 0.97);
    }

    // Status lines alone fall into step with such an adapter where the board is near its nominal rate; pulses come at any moment.
    [Fact]
    public void Pulses_break_the_step_of_status_lines_with_an_adapter()
    {
        var inStep = new ClockEnsemble { LatencyTimer = true, DelayMeanS = 0.0005, StatusJitter = 0, LargestRatePpm = 10 };
        EnsembleResult alone = inStep.Run(100);
        EnsembleResult mixed = (inStep with { StatusEveryS = 0.2, StatusJitter = 0.3 }).Run(Seeds);

        Assert.True(alone.WorstPpm < 5, $"{alone}"); // 16 ms in an hour is 4.4 ppm
        Assert.True(mixed.WorstPpm < 0.5, $"{mixed}");
        Assert.InRange(mixed.Coverage, 0.93, 0.97);
    }

    [Fact]
    public void A_minute_is_enough_for_an_honest_rate()
    {
        EnsembleResult result = new ClockEnsemble { WindowS = 60 }.Run(Seeds);

        Assert.Equal(0, result.Nominal);
        Assert.InRange(result.Coverage, 0.93, 0.97);
    }

    [Fact]
    public void A_drift_shows_in_the_uncertainty()
    {
        EnsembleResult result = new ClockEnsemble { DriftPpm = 5 }.Run(100);

        Assert.True(result.Coverage >= 0.95, $"{result}");
        Assert.InRange(result.MeanStatedPpm, 0.05, 3);
        Assert.False(new ClockEnsemble { DriftPpm = 5 }.One(1).Estimate.LineHolds);
    }

    // Limits of a ceramic resonator as a rectangle: 5000 ppm / √3 = 2886.751 ppm (JCGM 100:2008, 4.3.7).
    [Fact]
    public void Less_than_ten_seconds_state_the_limits_of_a_resonator()
    {
        (ClockEstimate estimate, _) = new ClockEnsemble { WindowS = 8 }.One(3);

        Assert.Equal(ClockMethod.Nominal, estimate.Method);
        Assert.Equal(0, estimate.RatePpm);
        Assert.Equal(2886.751, estimate.URatePpm, 3);
    }

    // Negative control: a delay that grows in time is a rate to whoever sees only arrivals. If the intervals held here too, the
    // ensemble could not tell a right fit from a wrong one.
    [Fact]
    public void A_delay_that_grows_is_not_held_by_the_interval()
    {
        EnsembleResult result = new ClockEnsemble { GrowingDelayS = 0.005 }.Run(100);

        Assert.True(result.Coverage < 0.05, $"{result}");
    }

    // The same wrong lines beside honest answers: the answers win.
    [Fact]
    public void Answers_are_believed_over_lines_whose_delay_grows()
    {
        var ensemble = new ClockEnsemble { GrowingDelayS = 0.02, AskEveryS = 10, RequestMeanS = 0.0005 };
        (ClockEstimate estimate, _) = ensemble.One(5);

        Assert.Equal(ClockMethod.TwoWay, estimate.Method);
    }

    [Fact]
    public void Exact_times_give_the_exact_rate_and_place()
    {
        var board = new BoardClock(new BoardSettings { RatePpm = -3210, CounterStart = 77 });
        var fit = new ClockFit(TickHz);
        for (int i = 0; i < 600; i++)
            fit.AddTwoWay(At(i - 0.001), board.Ticks(i), At(i + 0.001));
        ClockEstimate estimate = fit.Estimate();

        Assert.Equal(-3210, estimate.RatePpm, 0.01);
        Assert.InRange(estimate.HostNs(board.Ticks(1000)) - At(1000), -2000, 2000);

        static long At(double timeS) => (long)Math.Round((timeS + 100) * 1e9);
    }

    [Fact]
    public void Memory_is_bounded_and_the_rate_gets_better()
    {
        var noise = new SeededNoise(9, 61);
        var board = new BoardClock(new BoardSettings { RatePpm = 900 });
        var fit = new ClockFit(TickHz, capacity: 256);
        var few = new ClockEstimate();
        for (int i = 0; i < 200_000; i++)
        {
            double timeS = i * 0.03;
            fit.AddOneWay(board.Ticks(timeS), (long)((timeS + noise.Exponential(0.004)) * 1e9));
            if (i == 2000)
                few = fit.Estimate();
        }

        ClockEstimate many = fit.Estimate();
        Assert.Equal(900, many.RatePpm, 5 * many.URatePpm);
        Assert.True(many.URatePpm < few.URatePpm / 20, $"{few.URatePpm} {many.URatePpm}");
        Assert.Equal(200_000, many.Samples);
    }

    [Fact]
    public void The_same_samples_give_the_same_estimate()
    {
        var ensemble = new ClockEnsemble { AskEveryS = 7, WindowS = 900 };

        Assert.Equal(ensemble.One(4), ensemble.One(4));
    }

    [Fact]
    public void An_answer_before_its_question_is_the_callers_fault() =>
        Assert.Throws<ArgumentOutOfRangeException>(() => new ClockFit(TickHz).AddTwoWay(10, 0, 9));
}
