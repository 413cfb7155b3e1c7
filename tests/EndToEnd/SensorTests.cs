using System.Text.Json;
using Xunit;

namespace Acquire.EndToEnd.Tests;

public sealed class SensorTests
{
    private static readonly string[] OneTurnAfterAnother = ["--idle", "0.5", "--peak", "300", "--topple", "30", "--minutes", "5", "--misses", "0", "--glints", "0"];

    [Fact]
    public async Task A_body_that_turns_before_the_sensor_makes_it_fit()
    {
        using var bench = new Bench();
        using Started board = Started.Player(["--link", bench.Port, "--speed", "4", .. OneTurnAfterAnother]);
        await bench.PortIsThere();
        using Started sensor = Started.Acquire("sensor", "--port", bench.Port, "--time-scale", "4", "--json");
        Assert.True(sensor.Wait(30) == 0, sensor.Output + sensor.Error);
        JsonElement report = JsonDocument.Parse(sensor.Output).RootElement;
        Assert.Equal(["narrowMark"], report.GetProperty("faults").EnumerateArray().Select(f => f.GetProperty("fault").GetString()));
        Assert.Equal(2, report.GetProperty("widthOfTurnPercent").GetDouble(), 0.1); // the player's mark is 0.02 turns wide
        Assert.InRange(report.GetProperty("pulses").GetInt32(), 30, 55);
    }

    [Fact]
    public async Task A_lamp_is_named_and_is_no_fit()
    {
        using var bench = new Bench();
        using Started board = Started.Player("--link", bench.Port, "--speed", "2", "--lamp", "120", "--ppm", "3000");
        await bench.PortIsThere();
        using Started sensor = Started.Acquire("sensor", "--port", bench.Port, "--time-scale", "2", "--seconds", "6");
        Assert.Equal(1, sensor.Wait(30));
        Assert.Contains("This looks like lamp light: 119.6 flashes a second", sensor.Output, StringComparison.Ordinal); // 120 / 1.003
        Assert.Equal("Not fit for a launch yet.", sensor.LastLine);
    }

    [Fact]
    public async Task A_body_at_rest_shows_nothing()
    {
        using var bench = new Bench();
        using Started board = Started.Player("--link", bench.Port, "--idle", "600");
        await bench.PortIsThere();
        using Started sensor = Started.Acquire("sensor", "--port", bench.Port, "--seconds", "3");
        Assert.Equal(1, sensor.Wait(30));
        Assert.Contains("The link is there, but the sensor sees nothing.", sensor.Output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Ended_by_the_user_it_still_reports()
    {
        using var bench = new Bench();
        using Started board = Started.Player(["--link", bench.Port, .. OneTurnAfterAnother]);
        await bench.PortIsThere();
        using Started sensor = Started.Acquire("sensor", "--port", bench.Port, "--seconds", "600");
        await Task.Delay(TimeSpan.FromSeconds(6), TimeProvider.System, TestContext.Current.CancellationToken);
        sensor.Signal(2);
        Assert.Equal(130, sensor.Wait(20));
        Assert.Equal("Fit for a launch.", sensor.LastLine);
    }

    [Fact]
    public async Task A_cable_that_is_pulled_is_a_failure()
    {
        using var bench = new Bench();
        using Started board = Started.Player(["--link", bench.Port, .. OneTurnAfterAnother]);
        await bench.PortIsThere();
        using Started sensor = Started.Acquire("sensor", "--port", bench.Port, "--seconds", "8");
        await Task.Delay(TimeSpan.FromSeconds(4), TimeProvider.System, TestContext.Current.CancellationToken);
        board.Signal(9);
        Assert.Equal(3, sensor.Wait(30));
        Assert.Contains("went away", sensor.Error, StringComparison.Ordinal);
    }
}
