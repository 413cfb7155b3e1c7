using Acquire.Acquisition.Simulation;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Service.Tests.Capture;

public sealed class SessionTests : IDisposable
{
    private readonly string _library = Directory.CreateTempSubdirectory("acquire-session-").FullName;

    public void Dispose() => Directory.Delete(_library, recursive: true);

    // Strong losses make short spins: about half a minute each.
    private static SpinPlan ShortSpin(double restS) => new()
    {
        RestBeforeS = restS,
        ToppleRpm = 400,
        Loss = [new LossTerm(0, 1.5), new LossTerm(1, 1), new LossTerm(2, 0.6)],
    };

    private (CaptureOutcome Outcome, SimulatedSpin Spin, CaptureSession Session) Capture(
        SpinScenario scenario, bool once = false, int? marks = null, ILogger? logger = null, Action<string, CancellationToken>? report = null)
    {
        var time = new ScaledTimeProvider(TimeProvider.System, 50);
        var spin = new SimulatedSpin(scenario);
        using SimulatedPulseSource source = SimulatedPulseSource.Paced(spin, time);
        var options = new CaptureOptions { Port = "simulated", Library = _library, Once = once, TimeScale = 50, Top = "short spinner", Marks = marks ?? scenario.Sensor.MarkOffsetsTurns.Count };
        CaptureSession session = CapturePipeline.Compose(options, source, time, logger ?? NullLogger.Instance, report);
        return (session.Run(TestContext.Current.CancellationToken), spin, session);
    }

    [Fact]
    public void Spins_one_after_the_other_become_runs_of_their_own_and_no_journal_is_left()
    {
        var (outcome, spin, session) = Capture(new SpinScenario { Spins = [ShortSpin(5), ShortSpin(60), ShortSpin(20)], RestAfterS = 60 });
        Assert.False(outcome.Failed);
        Assert.Equal(3, outcome.Runs.Count);
        for (int i = 0; i < 3; i++)
        {
            RunDescriptor run = RunPackageReader.ReadDescriptor(outcome.Runs[i]);
            Assert.Equal(spin.Spins[i].SpinTimeS, run.Result.SpinTimeS, 0.5);
            Assert.Equal(0, run.Counts.Missed);
            Assert.Equal("stopped", run.EndReason);
            Assert.Equal("short spinner", run.Setup.Top);
            Assert.DoesNotContain(RunPackageReader.ReadEvents(outcome.Runs[i]), e => e.Event == RunEventNames.MarksLookWrong);
        }

        Assert.Empty(RunVerifier.VerifyLibrary(_library));
        Assert.Empty(Directory.GetFiles(Path.Combine(_library, ".open")));
        Assert.Equal(RunPhase.Waiting, session.Live.Phase);
        Assert.Equal(3, session.Live.FinishedRuns);
    }

    [Fact]
    public async Task A_disk_that_takes_no_journal_at_the_start_ends_no_capture_and_all_is_written_once_it_does()
    {
        string open = Path.Combine(_library, ".open");
        File.WriteAllText(open, "a file where the folder of the journals should be");
        var time = new ScaledTimeProvider(TimeProvider.System, 50);
        var spin = new SimulatedSpin(new SpinScenario { Spins = [ShortSpin(5)], RestAfterS = 500 });
        using SimulatedPulseSource source = SimulatedPulseSource.Paced(spin, time);
        var options = new CaptureOptions { Port = "simulated", Library = _library, Once = true, TimeScale = 50, Marks = 1 };
        CaptureSession session = CapturePipeline.Compose(options, source, time, NullLogger.Instance);
        Task<bool> said = Task.Run(() =>
        {
            bool wasSaid = SpinWait.SpinUntil(() => session.Live is { Phase: RunPhase.Spinning, Trouble: not null }, 20_000);
            File.Delete(open);
            return wasSaid;
        }, TestContext.Current.CancellationToken);

        CaptureOutcome outcome = session.Run(TestContext.Current.CancellationToken);

        Assert.True(await said, "nobody was told");
        Assert.False(outcome.Failed);
        RunDescriptor run = RunPackageReader.ReadDescriptor(Assert.Single(outcome.Runs));
        Assert.Equal(spin.Spins[0].SpinTimeS, run.Result.SpinTimeS, 0.5);
        Assert.Equal((0, 0, 0), (run.Counts.Missed, run.Counts.LostOnLine, session.Live.Counts.BytesLost));
        Assert.Empty(Directory.GetFiles(open));
    }

    [Fact]
    public void A_run_says_whether_its_end_was_seen_and_where_not_by_when_it_must_have_come()
    {
        SpinPlan seen = ShortSpin(5) with { FallSeenShare = 1 };
        var (outcome, spin, _) = Capture(new SpinScenario { Spins = [seen, ShortSpin(30) with { FallSeenShare = 0 }], RestAfterS = 400 });
        Assert.Equal(2, outcome.Runs.Count);
        RunDescriptor first = RunPackageReader.ReadDescriptor(outcome.Runs[0]);
        Assert.True(first.Stop is { Witnessed: true, LatestS: null });
        Assert.Equal("stopped", RunPackageReader.ReadEvents(outcome.Runs[0])[^1].Detail);

        RunDescriptor second = RunPackageReader.ReadDescriptor(outcome.Runs[1]);
        Assert.True(second.Stop is { Witnessed: false });
        double spunS = spin.Spins[1].ToppleS - spin.Spins[1].ReleaseS;
        Assert.InRange(second.Stop.LastMarkS - second.Result.ReleaseS, spunS - 0.5, spunS + 0.1);
        Assert.True(second.Stop.LatestS >= second.Result.StopS);
        RunEvent stop = RunPackageReader.ReadEvents(outcome.Runs[1])[^1];
        Assert.Equal(RunEventNames.Stop, stop.Event);
        Assert.Equal(
            FormattableString.Invariant($"nothing was seen after the last mark at {second.Stop.LastMarkS:F1} s; if the sensor was blocked the spin ended no later than {second.Stop.LatestS:F1} s"),
            stop.Detail);
    }

    [Fact]
    public void A_wobble_is_written_with_its_course_and_holds_the_true_constant()
    {
        var sensor = new SensorSettings { WobbleTurns = 0.004, WobbleGrowth = 2, JitterS = 5e-6 };
        SpinPlan longer = ShortSpin(5) with { Loss = [new LossTerm(0, 0.5), new LossTerm(1, 0.4)] };
        var (outcome, _, _) = Capture(new SpinScenario { Spins = [longer], RestAfterS = 400, Sensor = sensor }, once: true);
        string folder = Assert.Single(outcome.Runs);
        RunDescriptor run = RunPackageReader.ReadDescriptor(folder);
        Assert.NotNull(run.Wobble);
        double truth = sensor.WobbleHzAt1000Rpm * 1000 / 60;
        Assert.InRange(Math.Abs(run.Wobble.ConstantPerS2 - truth), 0, 3.5 * run.Wobble.UConstantPerS2);
        IReadOnlyList<WobblePoint> course = RunPackageReader.ReadWobble(folder);
        Assert.All(course, p => Assert.Equal(truth, p.RateHz * p.Rpm / 60, 4 * p.URateHz * p.Rpm / 60));
        Assert.InRange(course[0].AmplitudeTurns, 0.003, 0.006);
        Assert.Empty(RunVerifier.Verify(folder));
    }

    [Fact]
    public void A_wrong_number_of_marks_is_an_event_of_the_run_and_is_said_in_the_log_when_it_is_saved()
    {
        var log = new KeptLog();
        var (outcome, _, _) = Capture(
            new SpinScenario { Spins = [ShortSpin(5)], RestAfterS = 60, Sensor = new SensorSettings { MarkOffsetsTurns = [0, 0.53] } }, once: true, marks: 1, logger: log);
        string folder = Assert.Single(outcome.Runs);
        Assert.Equal(2, RunPackageReader.ReadDescriptor(folder).Counts.MarksSeen);
        RunEvent told = Assert.Single(RunPackageReader.ReadEvents(folder), e => e.Event == RunEventNames.MarksLookWrong);
        Assert.Equal("marks look wrong", told.Event);
        Assert.Equal("your --marks looks wrong: 2 seen", told.Detail);
        Assert.Contains($"Warning {Path.GetFileName(folder)}: your --marks looks wrong: 2 seen", log.Lines);
    }

    [Fact]
    public void A_page_that_cannot_be_made_costs_neither_run_nor_capture_and_is_said()
    {
        var log = new KeptLog();
        var asked = new List<string>();
        var (outcome, spin, session) = Capture(new SpinScenario { Spins = [ShortSpin(5), ShortSpin(60)], RestAfterS = 60 }, logger: log, report: (folder, _) =>
        {
            asked.Add(folder);
            Assert.Empty(RunVerifier.Verify(folder)); // safe before it is drawn
            throw new InvalidOperationException("the pen is dry");
        });
        Assert.False(outcome.Failed);
        Assert.Equal(2, outcome.Runs.Count);
        Assert.Equal([outcome.Runs[0], outcome.Runs[0], outcome.Runs[1], outcome.Runs[1]], asked);
        Assert.DoesNotContain("page", session.Live.Trouble ?? "", StringComparison.Ordinal);
        for (int i = 0; i < 2; i++)
            Assert.Equal(spin.Spins[i].SpinTimeS, RunPackageReader.ReadDescriptor(outcome.Runs[i]).Result.SpinTimeS, 0.5);
        Assert.Empty(RunVerifier.VerifyLibrary(_library));
        Assert.Empty(Directory.GetFiles(Path.Combine(_library, ".open")));
        Assert.Equal(2, log.Lines.Count(l => l.StartsWith("Warning ", StringComparison.Ordinal) && l.Contains("the pen is dry", StringComparison.Ordinal) && l.Contains("acquire show RUN --report", StringComparison.Ordinal)));
    }

    [Fact]
    public void A_page_that_takes_long_holds_up_no_other_run()
    {
        bool secondCame = false;
        var (outcome, _, _) = Capture(new SpinScenario { Spins = [ShortSpin(5), ShortSpin(60)], RestAfterS = 60 }, report: (folder, stop) =>
        {
            if (!secondCame)
                secondCame = SpinWait.SpinUntil(() => Directory.GetDirectories(_library, "2*").Length == 2, 30_000);
            File.WriteAllText(Path.Combine(folder, "report.html"), "done");
        });
        Assert.True(secondCame, "the second run waited for the page of the first");
        Assert.Equal(2, outcome.Runs.Count);
        Assert.All(outcome.Runs, run => Assert.True(File.Exists(Path.Combine(run, "report.html"))));
        Assert.Empty(RunVerifier.VerifyLibrary(_library));
    }

    [Fact]
    public void With_once_the_capture_ends_with_its_first_run()
    {
        var (outcome, _, _) = Capture(new SpinScenario { Spins = [ShortSpin(5), ShortSpin(500)], RestAfterS = 500 }, once: true);
        Assert.Equal(_library, Path.GetDirectoryName(Assert.Single(outcome.Runs)));
    }

    [Fact]
    public void Nothing_that_spins_leaves_nothing_behind()
    {
        var (outcome, _, _) = Capture(new SpinScenario { Spins = [], RestAfterS = 60 });
        Assert.Empty(outcome.Runs);
        Assert.Empty(Directory.GetFiles(_library, "*", SearchOption.AllDirectories));
    }

    [Fact]
    public void A_board_that_restarts_in_mid_spin_costs_an_event_and_no_run()
    {
        var (outcome, spin, _) = Capture(new SpinScenario { Spins = [ShortSpin(5)], RestAfterS = 60, Board = new BoardSettings { RestartsS = [20] } });
        string folder = Assert.Single(outcome.Runs);
        RunDescriptor run = RunPackageReader.ReadDescriptor(folder);
        Assert.Contains(RunPackageReader.ReadEvents(folder), e => e.Event == RunEventNames.BoardRestarted);
        Assert.Equal(spin.Spins[0].SpinTimeS, run.Result.SpinTimeS, 1.5);
    }

    [Fact]
    public void Several_marks_a_turn_give_the_same_spin()
    {
        var (outcome, spin, _) = Capture(new SpinScenario
        {
            Spins = [ShortSpin(5)],
            RestAfterS = 60,
            Sensor = new SensorSettings { MarkOffsetsTurns = [0, 0.26, 0.5, 0.74] },
        });
        RunDescriptor run = RunPackageReader.ReadDescriptor(Assert.Single(outcome.Runs));
        Assert.Equal(spin.Spins[0].SpinTimeS, run.Result.SpinTimeS, 0.3);
        Assert.Equal(4, run.Source.MarksPerTurn);
        double[] truth = [0, 0.26, 0.5, 0.74];
        int shift = Enumerable.Range(0, 4).MinBy(s => Math.Abs(((truth[(s + 1) % 4] - truth[s] + 1) % 1) - run.Source.MarkOffsets[1]));
        for (int i = 0; i < 4; i++)
            Assert.Equal((truth[(i + shift) % 4] - truth[shift] + 1) % 1, run.Source.MarkOffsets[i], 0.005);
    }
}
