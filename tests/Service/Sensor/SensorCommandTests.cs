using System.Runtime.Versioning;
using System.Text.Json;
using Acquire.Acquisition.Simulation;
using Acquire.Service.Commands;
using Acquire.Terminals;

namespace Acquire.Service.Tests.Sensor;

[SupportedOSPlatform("linux")]
public sealed class SensorCommandTests
{
    [Fact]
    public void Wrong_settings_are_all_named()
    {
        using var bench = new Bench();
        Assert.Equal(2, bench.Run("sensor", "--baud", "x", "--seconds", "0", "--turns", "2.5"));
        string[] lines = bench.Error.Split('\n');
        Assert.Equal("acquire sensor: --seconds: '0' on the command line; allowed is a number from 1 to 3600", lines[0]);
        Assert.Equal("acquire sensor: --turns: '2.5' on the command line; allowed is a whole number from 1 to 10000", lines[1]);
        Assert.StartsWith("acquire sensor: --baud: 'x' on the command line; ", lines[2]);
        Assert.StartsWith("acquire sensor: --port: nothing given; ", lines[3]);
        Assert.Equal("", bench.Out);
    }

    [Theory]
    [InlineData("/dev/acquire-no-such-port", "is not there")]
    [InlineData("/dev/null", "is not a serial port")]
    public void A_port_that_cannot_be_is_a_wrong_call(string port, string said)
    {
        using var bench = new Bench();
        Assert.Equal(2, bench.Run("sensor", "--port", port));
        Assert.Contains(said, bench.Error);
        Assert.Equal("", bench.Out);
    }

    [Fact]
    public void A_board_that_says_nothing_is_not_fit()
    {
        using var bench = new Bench();
        using var port = new PseudoTerminal();
        Assert.Equal(1, bench.Run("sensor", "--port", port.PortPath, "--time-scale", "10"));
        Assert.Contains("The board says nothing.", bench.Out);
        Assert.EndsWith("Not fit for a launch yet.\n", bench.Out);
        Assert.Equal("", bench.Error);
    }

    [Fact]
    public async Task Lines_at_a_wrong_rate_are_told_from_silence()
    {
        using var bench = new Bench();
        using var port = new PseudoTerminal();
        using var done = new CancellationTokenSource();
        Task garbage = Write(() => port.Write("\u007fzq\n\u0001"), 20, done.Token);
        Assert.Equal(1, bench.Run("sensor", "--port", port.PortPath, "--time-scale", "10", "--json"));
        await done.CancelAsync();
        await garbage;
        Assert.Equal("garbled", JsonDocument.Parse(bench.Out).RootElement.GetProperty("faults")[0].GetProperty("fault").GetString());
    }

    [Fact]
    public async Task Ticks_of_somebodys_own_sketch_are_judged_as_well_and_the_live_line_shows_them()
    {
        using var bench = new Bench();
        using var error = new StringWriter();
        using var port = new PseudoTerminal();
        using var done = new CancellationTokenSource();
        long ticks = 0;
        Task turning = Write(() => port.Write($"{ticks += 500_000}\n"), 50, done.Token); // every 0.5 s of a scale of 10, in microseconds
        var surroundings = new Surroundings
        {
            Out = bench.Surroundings.Out,
            Error = TextWriter.Synchronized(error),
            ErrorIsTerminal = true,
            CurrentFolder = bench.Current,
            ProgramFolder = bench.Program,
            Stop = TestContext.Current.CancellationToken,
        };
        string[] call = ["sensor", "--port", port.PortPath, "--format", "ticks", "--tick-hz", "1000000", "--time-scale", "10", "--json"];
        Assert.Equal(0, AcquireCommand.Run(call, surroundings));
        await done.CancelAsync();
        await turning;
        JsonElement report = JsonDocument.Parse(bench.Out).RootElement;
        Assert.Equal(0.5, report.GetProperty("intervalS").GetDouble(), 1e-9);
        Assert.Equal(JsonValueKind.Null, report.GetProperty("widthS").ValueKind);
        Assert.Contains("a second, width –", error.ToString());
        Assert.EndsWith("\r\u001b[K", error.ToString());
    }

    [Fact]
    public async Task A_good_mark_through_a_real_port_is_fit_in_words_and_as_json()
    {
        foreach (bool json in (bool[])[false, true])
        {
            using var bench = new Bench();
            using var port = new PseudoTerminal();
            using var done = new CancellationTokenSource();
            Task board = Play(port, new SimulatedSpin(new SpinScenario { Spins = [Watched.TurnedByHand(1)], Sensor = Watched.Mark() }), 10, done.Token);
            Assert.Equal(0, bench.Run(["sensor", "--port", port.PortPath, "--time-scale", "10", "--seconds", "9", .. json ? (string[])["--json"] : []]));
            await done.CancelAsync();
            await board;
            if (!json)
            {
                Assert.Contains("source       simulated on " + port.PortPath, bench.Out);
                Assert.Contains("lamp light   none seen", bench.Out);
                Assert.EndsWith("\nFit for a launch.\n", bench.Out);
                continue;
            }

            JsonElement report = JsonDocument.Parse(bench.Out).RootElement;
            Assert.True(report.GetProperty("fit").GetBoolean());
            Assert.Equal(15, report.GetProperty("widthOfTurnPercent").GetDouble(), 0.5);
            Assert.InRange(report.GetProperty("pulses").GetInt32(), 10, 16);
        }
    }

    private static async Task Write(Action write, int everyMs, CancellationToken end)
    {
        while (!end.IsCancellationRequested)
        {
            write();
            await Task.Delay(TimeSpan.FromMilliseconds(everyMs), TimeProvider.System, CancellationToken.None);
        }
    }

    private static async Task Play(PseudoTerminal port, SimulatedSpin spin, double scale, CancellationToken end)
    {
        using var board = new SimulatedBoard(spin);
        long start = TimeProvider.System.GetTimestamp();
        while (!end.IsCancellationRequested)
        {
            double nowS = TimeProvider.System.GetElapsedTime(start).TotalSeconds * scale;
            while (board.TryNext(nowS, out _, out ReadOnlyMemory<byte> bytes))
                port.Write(bytes.Span);
            await Task.Delay(TimeSpan.FromMilliseconds(2), TimeProvider.System, CancellationToken.None);
        }
    }
}
