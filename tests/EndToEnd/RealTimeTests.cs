using System.Text.Json;
using Acquire.Recording;
using Xunit;

namespace Acquire.EndToEnd.Tests;

public sealed class RealTimeTests
{
    [Fact]
    public async Task A_40_second_spin_at_real_time_becomes_a_run()
    {
        using var bench = new Bench();
        using Started board = Started.Player(
            "--link", bench.Port, "--speed", "1", "--minutes", "0.66", "--topple", "400", "--idle", "2", "--rest", "40", "--misses", "0", "--glints", "0");
        await bench.PortIsThere();
        using Started capture = Started.Acquire("capture", "--port", bench.Port, "--once", "--library", bench.Library, "--factor", "dish_radius_mm=80");
        Assert.Equal(0, capture.Wait(150));

        string run = bench.OnlyRun();
        Assert.Equal(run, capture.LastLine);
        RunDescriptor found = RunPackageReader.ReadDescriptor(run);
        Assert.Equal(80, found.Setup.Factors["dish_radius_mm"]);
        Assert.Contains("dish_radius_mm", File.ReadAllText(Path.Combine(run, "report.html")), StringComparison.Ordinal);
        Assert.Empty(RunVerifier.Verify(run));
        Assert.Equal(0, board.Wait(30));
        JsonElement truth = JsonDocument.Parse(board.Output).RootElement;
        Assert.Equal(truth.GetProperty("marksSeen").GetInt64(), found.Counts.Marks);
        Assert.Equal(0, found.Counts.Missed);
        Assert.Equal(truth.GetProperty("spinTimeS").GetDouble(), found.Result.SpinTimeS, 0.5);
        double peak = truth.GetProperty("peakRpm").GetDouble();
        Assert.InRange(found.Result.UPeakRpm, 0, 3);
        Assert.True(
            Math.Abs(found.Result.PeakRpm - peak) < 4 * (found.Result.UPeakRpm + (1e-6 * found.Clock.URatePpm * peak)),
            $"peak {found.Result.PeakRpm} ± {found.Result.UPeakRpm} rpm for {peak}, clock {found.Clock.RatePpm} ± {found.Clock.URatePpm} ppm");
    }

    [Fact]
    public async Task A_megabyte_of_random_bytes_is_counted_and_no_run_is_made_of_it()
    {
        using var bench = new Bench();
        using Started board = Started.Player(
            "--link", bench.Port, "--speed", "20", "--minutes", "2", "--noise", "1000000", "--misses", "0", "--glints", "0");
        await bench.PortIsThere();
        using Started capture = Started.Acquire("capture", "--port", bench.Port, "--once", "--time-scale", "20", "--library", bench.Library);
        Assert.Equal(0, capture.Wait(120));
        RunDescriptor found = RunPackageReader.ReadDescriptor(bench.OnlyRun());
        Assert.Equal(0, board.Wait(30));
        JsonElement truth = JsonDocument.Parse(board.Output).RootElement;
        Assert.Equal(truth.GetProperty("marksSeen").GetInt64(), found.Counts.Marks);
        Assert.Matches("[1-9][0-9,]* bad lines", capture.Error);
    }

    [Theory]
    [InlineData(2)]
    [InlineData(15)]
    public async Task Ended_by_the_user_in_mid_spin_the_run_is_saved_as_the_operators(int signal)
    {
        using var bench = new Bench();
        using Started board = Started.Player("--link", bench.Port, "--speed", "10", "--minutes", "30");
        await bench.PortIsThere();
        using Started capture = Started.Acquire("capture", "--port", bench.Port, "--time-scale", "10", "--library", bench.Library);
        await capture.Said("spinning", 30);
        await Task.Delay(TimeSpan.FromSeconds(4), TimeProvider.System, TestContext.Current.CancellationToken);
        capture.Signal(signal);
        Assert.Equal(130, capture.Wait(30));
        string run = bench.OnlyRun();
        Assert.Equal(run, capture.LastLine);
        Assert.Equal("operator", RunPackageReader.ReadDescriptor(run).EndReason);
        Assert.Contains("The operator ended it", File.ReadAllText(Path.Combine(run, "report.html")), StringComparison.Ordinal);
        Assert.Empty(Directory.GetFiles(Path.Combine(bench.Library, ".open"), "*.journal"));
    }

    [Fact]
    public async Task A_port_that_is_not_there_yet_is_waited_for()
    {
        using var bench = new Bench();
        using Started capture = Started.Acquire("capture", "--port", bench.Port, "--once", "--time-scale", "20", "--library", bench.Library);
        await capture.Said(bench.Port, 20);
        using Started board = Started.Player("--link", bench.Port, "--speed", "20", "--minutes", "1");
        Assert.Equal(0, capture.Wait(90));
        bench.OnlyRun();
    }

    [Fact]
    public void A_port_that_is_not_there_and_not_waited_for_is_a_wrong_call()
    {
        using var bench = new Bench();
        using Started capture = Started.Acquire("capture", "--port", bench.Port, "--wait", "false", "--library", bench.Library);
        Assert.Equal(2, capture.Wait(20));
        Assert.Contains(bench.Port, capture.Error, StringComparison.Ordinal);
    }
}
