using System.Globalization;
using System.Text.Json;
using Acquire.Terminals;

namespace Acquire.Service.Tests.Commands;

public sealed class StatusCommandTests
{
    [Fact]
    public void Where_no_capture_runs_the_answer_is_no()
    {
        using var bench = new Bench();
        Assert.Equal(1, bench.Run("status"));
        Assert.Equal($"not running\n  problem      no capture runs in {bench.Library}\n", bench.Out);
        Assert.Equal("", bench.Error);
    }

    [Fact]
    public void What_a_capture_left_that_was_cut_short_is_told_of()
    {
        using var bench = new Bench();
        Directory.CreateDirectory(Path.Combine(bench.Library, ".open"));
        File.WriteAllText(Path.Combine(bench.Library, ".open", "invented.journal"), "");
        Assert.Equal(1, bench.Run("status", "--json"));
        JsonElement status = JsonDocument.Parse(bench.Out).RootElement;
        Assert.False(status.GetProperty("running").GetBoolean());
        Assert.Contains("was cut short", status.GetProperty("problems")[0].GetString());
    }

    [Fact]
    public async Task A_capture_with_its_port_open_is_well_and_says_what_goes_on()
    {
        using var port = new PseudoTerminal();
        using var stop = new CancellationTokenSource();
        using var bench = new Bench { Stop = stop.Token };
        Task<int> capture = Task.Run(() => bench.Run("capture", "--port", port.PortPath), TestContext.Current.CancellationToken);
        JsonElement status = await Status(bench, 0);
        Assert.True(status.GetProperty("well").GetBoolean());
        Assert.Equal(0, status.GetProperty("problems").GetArrayLength());
        JsonElement facts = status.GetProperty("capture");
        Assert.Equal("waiting", facts.GetProperty("phase").GetString());
        Assert.Equal(port.PortPath + " at 115200 baud", facts.GetProperty("source").GetString());
        Assert.Equal(Environment.ProcessId, facts.GetProperty("processId").GetInt32());
        Assert.Equal(JsonValueKind.Null, facts.GetProperty("rpm").ValueKind);
        Assert.Equal("done", facts.GetProperty("recovery").GetProperty("state").GetString());
        Assert.True(facts.GetProperty("freeBytes").GetInt64() > 0);
        TimeSpan age = TimeProvider.System.GetUtcNow() - DateTimeOffset.Parse(facts.GetProperty("startedAt").GetString()!, CultureInfo.InvariantCulture);
        Assert.InRange(age.TotalSeconds, 0, 60);
        Assert.Equal(["capture", "reader", "journal"], facts.GetProperty("threads").EnumerateArray().Select(t => t.GetProperty("name").GetString()));
        await stop.CancelAsync();
        Assert.Equal(130, await capture);
    }

    [Fact]
    public async Task A_capture_without_its_port_is_not_well_and_says_why()
    {
        using var stop = new CancellationTokenSource();
        using var bench = new Bench { Stop = stop.Token };
        Task<int> capture = Task.Run(() => bench.Run("capture", "--port", "/dev/acquire-no-such-port"), TestContext.Current.CancellationToken);
        JsonElement status = await Status(bench, 1);
        Assert.True(SpinWait.SpinUntil(() => status.GetProperty("capture").GetProperty("lastError").ValueKind != JsonValueKind.Null
            || (status = Status(bench, 1).GetAwaiter().GetResult()).ValueKind == JsonValueKind.Undefined, TimeSpan.FromSeconds(20)));
        Assert.StartsWith("Port /dev/acquire-no-such-port is not there.", status.GetProperty("problems")[0].GetString());
        Assert.StartsWith(
            "Port /dev/acquire-no-such-port is not there.", status.GetProperty("capture").GetProperty("lastError").GetProperty("text").GetString());
        await stop.CancelAsync();
        Assert.Equal(130, await capture);
    }

    /// <summary>Asks until a capture answers with this exit code.</summary>
    private static async Task<JsonElement> Status(Bench of, int code)
    {
        string answer = "";
        for (int i = 0; i < 400; i++)
        {
            using var asking = new Bench();
            Directory.CreateDirectory(of.Library);
            int exit = asking.Run("status", "--json", "--library", of.Library);
            answer = asking.Out;
            JsonElement status = JsonDocument.Parse(answer).RootElement;
            if (exit == code && status.GetProperty("running").GetBoolean()) return status;
            await Task.Delay(TimeSpan.FromMilliseconds(50), TimeProvider.System);
        }

        throw new TimeoutException("The capture did not answer as expected within 20 s, but: " + answer);
    }
}
