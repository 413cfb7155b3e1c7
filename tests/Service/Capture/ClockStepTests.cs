using Acquire.Acquisition;
using Acquire.Acquisition.Simulation;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Service.Tests.Capture;

public sealed class ClockStepTests : IDisposable
{
    private const double TimeScale = 40;
    private readonly string _library = Directory.CreateTempSubdirectory("acquire-clock-step-").FullName;

    public void Dispose() => Directory.Delete(_library, recursive: true);

    [Theory]
    [InlineData(1)]
    [InlineData(-1)]
    public void A_clock_that_is_set_by_an_hour_in_mid_run_changes_no_duration(int hours)
    {
        var time = new SteppedClock(new ScaledTimeProvider(TimeProvider.System, TimeScale));
        (string folder, SpinTruth truth) = Capture(time, () => time.Step = TimeSpan.FromHours(hours));
        RunDescriptor run = RunPackageReader.ReadDescriptor(folder);
        Assert.Equal(truth.SpinTimeS, run.Result.SpinTimeS, 0.5);
        Assert.Equal(0, run.Counts.Missed);
        Assert.Equal(0, run.Counts.Gaps);
        Assert.All(RunPackageReader.ReadEvents(folder), e => Assert.InRange(e.TimeS, 0, truth.StopS + 60));
    }

    [Fact]
    public void A_start_of_long_ago_is_corrected_when_the_clock_is_set_during_the_run()
    {
        var time = new SteppedClock(new ScaledTimeProvider(TimeProvider.System, TimeScale));
        TimeSpan off = time.GetUtcNow() - DateTimeOffset.UnixEpoch;
        time.Step = -off;
        DateTimeOffset began = time.GetUtcNow() + off;
        (string folder, SpinTruth truth) = Capture(time, () => time.Step = TimeSpan.Zero);
        RunDescriptor run = RunPackageReader.ReadDescriptor(folder);
        Assert.InRange((run.StartedAt - began).TotalSeconds, 0, truth.StopS + 120);

        // What passes between the reads of two clocks counts forty-fold here.
        Assert.Equal(off.TotalSeconds, run.Clock.StartCorrectedS!.Value, 0.5);
        Assert.Contains(RunPackageReader.ReadEvents(folder), e => e.Event == RunEventNames.ClockSet);
        Assert.Equal(truth.SpinTimeS, run.Result.SpinTimeS, 0.5);
        Assert.Empty(RunVerifier.Verify(folder));
    }

    [Fact]
    public void A_clock_that_becomes_right_is_noted_once()
    {
        string path = Path.Combine(_library, "a.journal");
        string said = "unsynchronised";
        var watch = new ClockWatch(TimeProvider.System, () => said);
        var start = new JournalStart("", new UtcAnchor(default, 0), new JournalSource("", "", "", 1, 1), new RunSetup(), new Dictionary<string, string>());
        using (JournalWriter journal = JournalWriter.Create(path, start, TimeProvider.System))
        {
            long now = TimeProvider.System.MonotonicNs();
            watch.LookNow(now, journal);
            watch.LookNow(now + 1_000_000, journal);
            said = "synchronised";
            watch.LookNow(now + 2_000_000, journal);
            watch.LookNow(now + 3_000_000, journal);
        }

        var anchors = new List<UtcAnchor>();
        using var reader = new JournalReader(path);
        while (reader.TryRead(out JournalRecord record))
        {
            if (record.Kind == JournalEntryKind.UtcAnchor)
                anchors.Add(record.Entry<UtcAnchor>());
        }

        Assert.Equal("synchronised", Assert.Single(anchors).HostClock);
    }

    private (string Folder, SpinTruth Truth) Capture(TimeProvider time, Action whileItSpins)
    {
        var spin = new SimulatedSpin(new SpinScenario
        {
            Spins = [new SpinPlan { ToppleRpm = 400, Loss = [new LossTerm(0, 1.5), new LossTerm(1, 1), new LossTerm(2, 0.6)] }],
            RestAfterS = 60,
        });
        using SimulatedPulseSource source = SimulatedPulseSource.Paced(spin, time);
        var options = new CaptureOptions { Port = "simulated", Library = _library, TimeScale = TimeScale };
        CaptureSession session = CapturePipeline.Compose(options, source, time, NullLogger.Instance);
        using var done = new ManualResetEventSlim();
        var hand = new Thread(() =>
        {
            while (session.Live.Phase != RunPhase.Spinning && !done.Wait(1))
            {
            }

            whileItSpins();
        });
        hand.Start();
        CaptureOutcome outcome = session.Run(TestContext.Current.CancellationToken);
        done.Set();
        hand.Join();
        return (Assert.Single(outcome.Runs), spin.Spins[0]);
    }
}
