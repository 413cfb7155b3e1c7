using Acquire.Acquisition.Simulation;
using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Results.Forecasting;
using Acquire.Service.Capture;
using Acquire.Service.Commands;
using Acquire.Service.Forecasting;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Service.Tests.Forecasting;

public sealed class LiveForecastTests : IDisposable
{
    private readonly string _library = Directory.CreateTempSubdirectory("acquire-ahead-").FullName;

    public void Dispose() => Directory.Delete(_library, recursive: true);

    [Theory]
    [InlineData(0.1)]
    [InlineData(0.4)]
    [InlineData(0.8)]
    public void A_history_of_few_places_foretells_the_end_as_the_marks_would(double share)
    {
        const int Most = 400;
        double endS = LossRun.TimeS(300);
        var history = new SpinHistory(1e9, Most);
        history.Begin(0);
        int taken = 0;
        foreach (JudgedPulse pulse in LossRun.Make().Pulses.Where(p => p.Ticks * 1e-9 <= share * endS))
        {
            history.See(pulse, 1);
            taken++;
        }

        SpinSoFar spin = history.Copy(0, 0)!;
        Assert.InRange(spin.TimeS.Length, Math.Min(taken, Most) / 2, Most);
        Assert.Equal(share * endS, spin.AtS, 0.03 * endS);
        LiveForecast ahead = LiveForecaster.Of(spin, new EndSpeed(300, 0, double.PositiveInfinity, EndBasis.Given), _ => null)!;
        double left = endS - ahead.AtS;
        Assert.InRange(left, ahead.LowS, ahead.HighS);
        Assert.Equal(left, ahead.RemainingS, 0.05 * left);
        LiveForecast other = ahead.Ending(new EndSpeed(350, 0, double.PositiveInfinity, EndBasis.Given))!;
        Assert.InRange(LossRun.TimeS(350) - ahead.AtS, other.LowS - 0.05, other.HighS + 0.05); // the table is read between its lines
        Assert.True(ahead.Ending(new EndSpeed(350, 0.1, double.PositiveInfinity, EndBasis.Rotor))!.HighS > other.HighS + 1);
        Assert.Null(ahead.Ending(new EndSpeed(3000, 0, double.PositiveInfinity, EndBasis.Given)));
        LiveForecast later = ahead.At(ahead.AtS + 10);
        Assert.Equal((ahead.RemainingS - 10, ahead.AtS + 10), (later.RemainingS, later.AtS));
    }

    [Fact]
    public void Marks_found_anew_begin_a_stretch_of_their_own()
    {
        var history = new SpinHistory(1e9);
        history.Begin(0);
        double endS = LossRun.TimeS(300);
        foreach (JudgedPulse pulse in LossRun.Make().Pulses.Where(p => p.Ticks * 1e-9 <= 0.6 * endS))
        {
            bool isLate = pulse.Ticks * 1e-9 > 0.3 * endS; // from then on turns are counted from elsewhere
            history.See(isLate ? pulse with { Turns = pulse.Turns - 777.3 } : pulse, isLate ? 2 : 1);
        }

        LiveForecast ahead = LiveForecaster.Of(history.Copy(0, 0)!, new EndSpeed(300, 0, double.PositiveInfinity, EndBasis.Given), _ => null)!;
        Assert.InRange(endS - ahead.AtS, ahead.LowS, ahead.HighS);
    }

    [Fact]
    public void A_clock_that_runs_fast_makes_the_seconds_shorter()
    {
        var history = new SpinHistory(1e9);
        history.Begin(0);
        foreach (JudgedPulse pulse in LossRun.Make().Pulses.Take(1000)) history.See(pulse, 1);
        Assert.Equal(history.Copy(0, 0)!.AtS / 1.01, history.Copy(0.01, 0)!.AtS, 1e-9);
        history.End();
        Assert.Null(history.Copy(0, 0));
    }

    [Fact]
    public async Task A_spin_under_way_is_forecast_until_it_ends()
    {
        (Task<CaptureOutcome> capture, CaptureSession session, SpinTruth truth) = Capture();
        using var forecaster = new LiveForecaster(session, (spin, stop) => ForecastProcess.Of(_library, spin, stop), TimeProvider.System, NullLogger.Instance);
        LiveForecast? seen = null;
        Assert.True(SpinWait.SpinUntil(() => (seen = forecaster.Latest(session.Live)) is not null || capture.IsCompleted, 60_000));
        Assert.NotNull(seen);
        Assert.Equal("assumed", seen.EndFrom);
        Assert.InRange(truth.SpinTimeS, seen.AtS + seen.LowS, seen.AtS + seen.HighS + 5);
        Assert.False((await capture).Failed);
        Assert.Null(forecaster.Latest(session.Live));
    }

    [Fact]
    public async Task A_forecast_that_fails_is_told_of_once_and_costs_the_capture_nothing()
    {
        var log = new KeptLog();
        (Task<CaptureOutcome> capture, CaptureSession session, _) = Capture();
        int calls = 0;
        using var forecaster = new LiveForecaster(session, (_, _) => throw new InvalidOperationException($"invented fault {++calls}"), TimeProvider.System, log);
        CaptureOutcome outcome = await capture;
        Assert.False(outcome.Failed);
        Assert.Single(outcome.Runs);
        Assert.Equal(1, calls);
        Assert.Null(forecaster.Latest(session.Live with { Phase = RunPhase.Spinning }));
        Assert.Single(log.Lines, l => l.Contains("No forecast can be made", StringComparison.Ordinal));
    }

    [Fact]
    public void A_process_of_its_own_answers_as_the_program_itself_would()
    {
        var history = new SpinHistory(1e9);
        history.Begin(0);
        foreach (JudgedPulse pulse in LossRun.Make().Pulses.Where(p => p.Ticks * 1e-9 <= 0.4 * LossRun.TimeS(300))) history.See(pulse, 1);
        SpinSoFar spin = history.Copy(0, 1e-6)! with { Setup = new() { Top = "oak rim", Factors = new Dictionary<string, double> { ["dish_mm"] = 80 } } };
        LiveForecast here = LiveForecaster.Of(spin, EndSpeed.Assumed, _ => null)!;
        LiveForecast there = ForecastProcess.Of(_library, spin, TestContext.Current.CancellationToken)!;
        Assert.Equal((here.AtS, here.RemainingS, here.LowS, here.HighS, here.EndRpm, here.EndFrom), (there.AtS, there.RemainingS, there.LowS, there.HighS, there.EndRpm, there.EndFrom));
        Assert.Equal(here.Speeds, there.Speeds);
    }

    [Theory]
    [InlineData("")]
    [InlineData("null")]
    [InlineData("{\"Library\":\"runs\",\"Spin\":{\"TimeS\":[1,2],\"Turns\":[1],\"URate\":0}}")]
    [InlineData("{\"Library\":\"runs\",\"Spin\":{\"TimeS\":[1,")]
    public void A_question_without_its_parts_is_refused(string question)
    {
        using var error = new StringWriter();
        using var output = new StringWriter();
        var surroundings = new Surroundings { In = new StringReader(question), Out = output, Error = error, CurrentFolder = _library, ProgramFolder = _library };
        Assert.Equal(2, AcquireCommand.Run(["forecast", ForecastProcess.Option], surroundings));
        Assert.StartsWith("acquire forecast: standard input", error.ToString(), StringComparison.Ordinal);
        Assert.Empty(output.ToString());
    }

    [Fact]
    public void A_process_that_is_told_to_stop_is_no_forecast()
    {
        using var stopped = new CancellationTokenSource();
        stopped.Cancel();
        Exception why = Assert.Throws<InvalidOperationException>(() => ForecastProcess.Of(_library, new SpinSoFar([1, 2], [1, 2], 0), stopped.Token));
        Assert.Contains("the capture ended first", why.Message, StringComparison.Ordinal);
    }

    // Some four minutes at twenty times real time.
    private (Task<CaptureOutcome> Capture, CaptureSession Session, SpinTruth Truth) Capture()
    {
        var time = new ScaledTimeProvider(TimeProvider.System, 20);
        SpinPlan plan = new SpinPlan { RestBeforeS = 2, ToppleRpm = 240, Loss = [new LossTerm(0, 0.3), new LossTerm(1.5, 0.5)] }.Lasting(240);
        var spin = new SimulatedSpin(new SpinScenario { Spins = [plan], RestAfterS = 60 });
        SimulatedPulseSource source = SimulatedPulseSource.Paced(spin, time);
        var options = new CaptureOptions { Port = "simulated", Library = _library, Once = true, TimeScale = 20, Top = "short spinner", Marks = 1 };
        CaptureSession session = CapturePipeline.Compose(options, source, time, NullLogger.Instance);
        CancellationToken stop = TestContext.Current.CancellationToken;
        return (Task.Run(() =>
        {
            using (source) return session.Run(stop);
        }, stop), session, spin.Spins[0]);
    }
}
