using Acquire.Acquisition.Simulation;
using Acquire.Recording;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Service.Tests.Capture;

public sealed class DiskSpaceTests : IDisposable
{
    private readonly string _library = Directory.CreateTempSubdirectory("acquire-space-").FullName;

    public void Dispose() => Directory.Delete(_library, recursive: true);

    [Fact]
    public void A_pulse_takes_no_more_room_than_is_counted_with()
    {
        var time = new ScaledTimeProvider(TimeProvider.System, 20);
        var spin = new SimulatedSpin(new SpinScenario
        {
            Spins = [new SpinPlan { RestBeforeS = 2, ToppleRpm = 400, Loss = [new LossTerm(0, 1.5), new LossTerm(1, 1), new LossTerm(2, 0.6)] }],
            RestAfterS = 60,
        });
        using SimulatedPulseSource source = SimulatedPulseSource.Paced(spin, time);
        CaptureSession session = CapturePipeline.Compose(new CaptureOptions { Port = "simulated", Library = _library }, source, time, NullLogger.Instance);
        long journal = 0;
        using var done = new ManualResetEventSlim();
        var watch = new Thread(() =>
        {
            while (!done.Wait(2))
                journal = Math.Max(journal, session.Live.JournalBytes);
        });
        watch.Start();
        string run = Assert.Single(session.Run(TestContext.Current.CancellationToken).Runs);
        done.Set();
        watch.Join();
        long pulses = RunPackageReader.ReadDescriptor(run).Counts.Received;
        double each = (journal + new FileInfo(Path.Combine(run, "pulses.csv")).Length) / (double)pulses;

        // Status lines and questions of the minute after the spin are in the journal too.
        Assert.InRange(each, DiskWatch.BytesPerPulse * 0.6, DiskWatch.BytesPerPulse * 1.3);
    }

    [Theory]
    [InlineData(1, 12_000, 1, 54)] // 10,800 s · (1 mark · 200 /s ÷ 4 · 98 B + 60 B) = 53.6 MB
    [InlineData(8, 2_400, 0.1, 91)] // 10,800 s · (8 marks · 40 /s ÷ 4 · 98 B + 600 B) = 91.2 MB
    public void The_room_for_three_hours_follows_from_marks_speed_and_grid(int marks, double maxRpm, double gridS, double megabytes) =>
        Assert.Equal(megabytes, DiskWatch.NeededBytes(new CaptureOptions { Marks = marks, MaxRpm = maxRpm, GridS = gridS }) / 1e6, 0.5);
}
