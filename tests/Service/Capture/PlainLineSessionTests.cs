using System.Globalization;
using Acquire.Acquisition.Simulation;
using Acquire.Recording;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Service.Tests.Capture;

public sealed class PlainLineSessionTests : IDisposable
{
    private readonly string _library = Directory.CreateTempSubdirectory("acquire-plain-").FullName;

    private readonly SimulatedSpin _spin = new(new SpinScenario
    {
        Spins = [new SpinPlan { ToppleRpm = 400, Loss = [new LossTerm(0, 1.5), new LossTerm(1, 1), new LossTerm(2, 0.6)] }],
    });

    public void Dispose() => Directory.Delete(_library, recursive: true);

    private RunDescriptor Capture(string format, double tickHz, IEnumerable<(double, string)> lines)
    {
        var time = new ScaledTimeProvider(TimeProvider.System, 50);
        using var source = new TextSource([.. lines], 40, time);
        var options = new CaptureOptions { Port = "invented", Library = _library, Format = format, TickHz = tickHz, TimeScale = 50, Once = true };
        CaptureOutcome outcome = CapturePipeline.Compose(options, source, time, NullLogger.Instance).Run(TestContext.Current.CancellationToken);
        Assert.Empty(RunVerifier.VerifyLibrary(_library));
        return RunPackageReader.ReadDescriptor(Assert.Single(outcome.Runs));
    }

    private static string Whole(double value) => ((long)Math.Round(value)).ToString(CultureInfo.InvariantCulture);

    [Fact]
    public void A_board_that_prints_tick_counts_gives_a_run()
    {
        RunDescriptor run = Capture("ticks", 1e6, _spin.Pulses().Select(p => (p.TimeS + p.WidthS, Whole(p.TimeS * 1e6))));
        Assert.Equal(_spin.Spins[0].SpinTimeS, run.Result.SpinTimeS, 0.3);
        Assert.Equal(_spin.Pulses().Count(), run.Counts.Marks);
    }

    [Fact]
    public void A_board_that_prints_intervals_gives_a_run()
    {
        var times = _spin.Pulses().Select(p => p.TimeS).ToList();
        var lines = times.Select((t, i) => (t + 0.001, Whole((t - (i == 0 ? 0 : times[i - 1])) * 1e6)));
        RunDescriptor run = Capture("interval", 1e6, lines);
        Assert.Equal(_spin.Spins[0].SpinTimeS, run.Result.SpinTimeS, 0.3);
    }

    [Fact]
    public void A_board_that_prints_rpm_gives_a_run()
    {
        SpinTruth truth = _spin.Spins[0];
        var lines = new List<(double, string)>();
        for (double t = 0; t < truth.ToppleS; t += 0.1)
        {
            double rpm = _spin.Motion.SpeedRpm(t);
            lines.Add((t, rpm.ToString("F1", CultureInfo.InvariantCulture)));
        }

        for (int i = 1; i < 10; i++)
            lines.Add((truth.ToppleS + (i * 0.1), "0"));
        RunDescriptor run = Capture("rpm", 1e6, lines);
        Assert.Equal(truth.SpinTimeS, run.Result.SpinTimeS, 0.6);
        Assert.Equal(truth.PeakRpm, run.Result.PeakRpm, 0.01 * truth.PeakRpm);
    }
}
