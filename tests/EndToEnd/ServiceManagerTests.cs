using System.Globalization;
using Xunit;

namespace Acquire.EndToEnd.Tests;

/// <summary>A capture as a service, over a real socket of the manager's (sd_notify(3), sd_watchdog_enabled(3)).</summary>
public sealed class ServiceManagerTests
{
    private const int LimitUs = 1_000_000;

    [Fact]
    public async Task A_service_says_when_it_is_ready_then_that_it_lives_though_no_port_is_there_and_at_last_that_it_stops()
    {
        using var bench = new Bench();
        using var manager = new ServiceManagerSocket(Path.Combine(bench.Folder, "notify"));
        using Started capture = Capture(bench, manager);
        await manager.Hears("READY=1", 30);
        await Task.Delay(TimeSpan.FromSeconds(4), TimeProvider.System, TestContext.Current.CancellationToken);
        capture.Signal(15);
        Assert.Equal(130, capture.Wait(30));
        await manager.Hears("STOPPING=1", 5);

        long[] alive = manager.TimesOf("WATCHDOG=1");
        Assert.InRange(alive.Length, 6, 14);
        Assert.All(alive.Zip(alive.Skip(1)), pair => Assert.InRange((pair.Second - pair.First) * 1e-3, 0, LimitUs));
        Assert.Equal("READY=1", manager.All().First(text => text != "WATCHDOG=1"));
        Assert.Single(manager.TimesOf("STOPPING=1"));
    }

    [Fact]
    public async Task A_service_whose_capturing_thread_hangs_no_longer_says_that_it_lives_until_the_thread_goes_on()
    {
        using var bench = new Bench();
        using var manager = new ServiceManagerSocket(Path.Combine(bench.Folder, "notify"));
        using Started board = Started.Player("--link", bench.Port, "--speed", "1", "--minutes", "30");
        await bench.PortIsThere();
        using Started capture = Capture(bench, manager);
        await manager.Hears("READY=1", 30);
        await capture.Said("spinning", 30);
        using (var held = new HeldThread(capture.Id, "capture"))
        {
            await capture.Said("The capture hangs", 20);
            using Started status = Started.Acquire("status", "--library", bench.Library);
            Assert.Equal(1, status.Wait(20));
            Assert.Contains("problem      the capture thread has not moved for 0:00:1", status.Output, StringComparison.Ordinal);
            int told = manager.TimesOf("WATCHDOG=1").Length;
            await Task.Delay(TimeSpan.FromSeconds(3), TimeProvider.System, TestContext.Current.CancellationToken);
            Assert.Equal(told, manager.TimesOf("WATCHDOG=1").Length);
        }

        int before = manager.TimesOf("WATCHDOG=1").Length;
        await capture.Said("moves again", 10);
        await Task.Delay(TimeSpan.FromSeconds(2), TimeProvider.System, TestContext.Current.CancellationToken);
        Assert.True(manager.TimesOf("WATCHDOG=1").Length > before);
        capture.Signal(15);
        Assert.Equal(130, capture.Wait(30));
        bench.OnlyRun();
    }

    [Fact]
    public async Task To_the_journal_each_line_says_its_level_and_no_time()
    {
        using var bench = new Bench();
        const string Call = "JOURNAL_STREAM=0:$(stat -Lc %i /proc/$$/fd/2) exec dotnet \"$@\"";
        using var capture = new Started("sh", "-c", Call, "sh", Checkout.Program, "capture", "--port", bench.Port, "--library", bench.Library);
        await capture.Said("<6>no link;", 30);
        await capture.Said($"<4>Port {bench.Port} is not there.", 10);
        capture.Signal(15);
        Assert.Equal(130, capture.Wait(30));
        Assert.All(capture.Error.TrimEnd('\n').Split('\n'), line => Assert.Matches("^<[46]>[^0-9]", line));
    }

    [Fact]
    public async Task A_watchdog_that_is_meant_for_another_process_is_not_answered()
    {
        using var bench = new Bench();
        using var manager = new ServiceManagerSocket(Path.Combine(bench.Folder, "notify"));
        using Started capture = Capture(bench, manager, "1");
        await manager.Hears("READY=1", 30);
        await Task.Delay(TimeSpan.FromSeconds(2), TimeProvider.System, TestContext.Current.CancellationToken);
        Assert.Empty(manager.TimesOf("WATCHDOG=1"));
    }

    private static Started Capture(Bench bench, ServiceManagerSocket manager, string? process = null)
    {
        var environment = new Dictionary<string, string>
        {
            ["NOTIFY_SOCKET"] = manager.Path,
            ["WATCHDOG_USEC"] = LimitUs.ToString(CultureInfo.InvariantCulture),
        };
        if (process is not null)
            environment["WATCHDOG_PID"] = process;
        return new Started("dotnet", environment, [Checkout.Program, "capture", "--port", bench.Port, "--library", bench.Library]);
    }
}
