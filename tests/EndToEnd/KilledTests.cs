using Acquire.Recording;
using Xunit;

namespace Acquire.EndToEnd.Tests;

public sealed class KilledTests
{
    [Fact]
    public async Task A_capture_that_was_killed_and_starts_again_goes_on_in_the_same_run()
    {
        using var bench = new Bench();
        using Started board = Started.Player("--link", bench.Port, "--minutes", "1", "--misses", "0", "--glints", "0", "--idle", "1");
        await bench.PortIsThere();
        string[] call = ["capture", "--port", bench.Port, "--library", bench.Library, "--top", "cut short"];
        using (Started first = Started.Acquire(call))
        {
            await first.Said("spinning", 30);
            await Task.Delay(TimeSpan.FromSeconds(4), TimeProvider.System, TestContext.Current.CancellationToken);
            first.Signal(9);
            first.Wait(20);
        }

        await Task.Delay(TimeSpan.FromSeconds(2), TimeProvider.System, TestContext.Current.CancellationToken);
        using (Started second = Started.Acquire(call))
        {
            await second.Said("goes on in the same run", 30);
            await Task.Delay(TimeSpan.FromSeconds(8), TimeProvider.System, TestContext.Current.CancellationToken);
            second.Signal(2);
            Assert.Equal(130, second.Wait(30));
        }

        string run = bench.OnlyRun();
        RunDescriptor found = RunPackageReader.ReadDescriptor(run);
        Assert.Equal("operator", found.EndReason);
        Assert.InRange(found.Result.SpinTimeS, 12, 40);
        Assert.Equal(0, found.Counts.BadLines, 1.0);
        IReadOnlyList<Acquire.Motion.RunEvent> events = RunPackageReader.ReadEvents(run);
        Assert.Single(events, e => e.Event == "capture interrupted");
        Assert.Single(events, e => e.Event == "launch");
        Assert.Empty(Directory.GetFiles(Path.Combine(bench.Library, ".open"), "*.journal"));
    }

    [Fact]
    public async Task A_capture_that_was_killed_in_mid_spin_becomes_a_run_when_it_is_recovered()
    {
        using var bench = new Bench();
        using Started board = Started.Player("--link", bench.Port, "--speed", "10", "--minutes", "30", "--misses", "0", "--glints", "0");
        await bench.PortIsThere();
        using (Started capture = Started.Acquire("capture", "--port", bench.Port, "--time-scale", "10", "--library", bench.Library, "--top", "cut short"))
        {
            await capture.Said("spinning", 30);
            await Task.Delay(TimeSpan.FromSeconds(6), TimeProvider.System, TestContext.Current.CancellationToken);
            using Started second = Started.Acquire("capture", "--port", bench.Port, "--library", bench.Library);
            Assert.Equal(3, second.Wait(20));
            Assert.Contains("in use by", second.Error, StringComparison.Ordinal);
            capture.Signal(9);
            Assert.Equal(128 + 9, capture.Wait(20));
        }

        Assert.Empty(RunLibrary.List(bench.Library));
        using Started recover = Started.Acquire("recover", "--library", bench.Library);
        Assert.Equal(0, recover.Wait(30));
        string run = bench.OnlyRun();
        Assert.Equal(run, recover.LastLine);
        RunDescriptor found = RunPackageReader.ReadDescriptor(run);
        Assert.Equal(("recovered", "cut short"), (found.EndReason, found.Setup.Top));

        // Six seconds at ten times real time, less at most the last second that the journal had not synced.
        Assert.InRange(found.Result.SpinTimeS, 50, 120);
        using Started again = Started.Acquire("recover", "--library", bench.Library);
        Assert.Equal(0, again.Wait(30));
        bench.OnlyRun();
    }
}
