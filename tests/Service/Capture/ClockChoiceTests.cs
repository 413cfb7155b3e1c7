using Acquire.Acquisition.Clock;
using Acquire.Acquisition.Simulation;
using Acquire.Recording;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Service.Tests.Capture;

public sealed class ClockChoiceTests : IDisposable
{
    private const double BoardPpm = 3000;
    private readonly string _library = Directory.CreateTempSubdirectory("acquire-clock-").FullName;

    public void Dispose() => Directory.Delete(_library, recursive: true);

    [Fact]
    public void By_the_hosts_clock_the_boards_rate_is_found_and_the_budget_makes_up_the_uncertainty()
    {
        RunDescriptor run = Capture(new CaptureOptions());

        // A busy machine holds a line back by milliseconds, fifty times as long on this time scale, in a capture of seconds.
        double mayDiffer = 300 + (4 * run.Clock.URatePpm);
        Assert.InRange(run.Clock.RatePpm, BoardPpm - mayDiffer, BoardPpm + mayDiffer);
        Assert.Equal(HostSynchronisation.Read(), run.Clock.HostClock);
        Assert.Equal(run.Result.SpinTimeS * run.Clock.URatePpm * 1e-6, run.Budget!.ClockS, 1e-9);
        Assert.InRange(run.Budget.StopS, 0.001, 0.2);
        Assert.Equal(run.Result.USpinTimeS, run.Budget.TogetherS, 1e-9);
    }

    [Theory]
    [InlineData(100, 57.735)] // 100/√3
    [InlineData(5000, 2886.751)]
    public void By_the_boards_clock_its_rate_is_nothing_within_the_users_limits(double limitPpm, double uPpm)
    {
        RunDescriptor run = Capture(new CaptureOptions { Clock = "board", ClockLimitPpm = limitPpm });
        Assert.Equal(0, run.Clock.RatePpm);
        Assert.Equal(uPpm, run.Clock.URatePpm, 0.001);
        Assert.Equal(run.Result.SpinTimeS * uPpm * 1e-6, run.Budget!.ClockS, 1e-6);
        Assert.Equal(run.Result.USpinTimeS, run.Budget.TogetherS, 1e-9);
    }

    [Fact]
    public void The_choice_is_kept_in_the_journal()
    {
        foreach (CaptureOptions options in (CaptureOptions[])[new(), new() { Clock = "board", ClockLimitPpm = 30 }])
        {
            RunSettings settings = RunSettings.From(options);
            var start = new JournalStart("", new UtcAnchor(default, 0), new JournalSource("", "", "", 1, 1), new RunSetup(), settings.ToJournal());
            Assert.Equal(settings, RunSettings.From(start));
        }
    }

    private RunDescriptor Capture(CaptureOptions options)
    {
        var time = new ScaledTimeProvider(TimeProvider.System, 50);
        var spin = new SimulatedSpin(new SpinScenario
        {
            Spins = [new SpinPlan { ToppleRpm = 400, Loss = [new LossTerm(0, 0.3), new LossTerm(1, 0.2), new LossTerm(2, 0.12)] }],
            RestAfterS = 60,
            Board = new BoardSettings { RatePpm = BoardPpm },
        });
        using SimulatedPulseSource source = SimulatedPulseSource.Paced(spin, time);
        (options.Port, options.Library) = ("simulated", _library);
        CaptureOutcome outcome = CapturePipeline.Compose(options, source, time, NullLogger.Instance).Run(TestContext.Current.CancellationToken);
        return RunPackageReader.ReadDescriptor(Assert.Single(outcome.Runs));
    }
}
