using System.Text.Json;
using System.Text.Json.Nodes;
using Acquire.Service;
using Acquire.Service.Tests;

namespace Acquire.Page.Tests;

/// <summary>The page's figures are the commands' figures.</summary>
public sealed class SameAsCommandTests : IDisposable
{
    private readonly Bench _bench = new();
    private readonly string[] _runs;

    public SameAsCommandTests()
    {
        double[] scatter = [0.995, 1.004, 1.008];
        _runs =
        [
            .. scatter.Select((s, i) => TopRuns.Write(_bench.Library, 2 * i, s, "none", 4)),
            .. scatter.Select((s, i) => TopRuns.Write(_bench.Library, (2 * i) + 1, 1.1 * s, "ring", 6)),
        ];
    }

    public void Dispose() => _bench.Dispose();

    private JsonNode Command(params string[] args)
    {
        using var call = new Bench();
        using var words = new StringWriter();
        using var error = new StringWriter();
        int code = Acquire.Service.Commands.AcquireCommand.Run([.. args, "--library", _bench.Library, "--json"], new Surroundings { Out = words, Error = error, CurrentFolder = call.Current, ProgramFolder = call.Program });
        Assert.True(code is 0 or 1, error.ToString());
        return JsonNode.Parse(words.ToString())!;
    }

    private static void Same(JsonNode command, JsonElement page) => Assert.True(JsonNode.DeepEquals(command, JsonNode.Parse(page.GetRawText())), $"command: {command.ToJsonString()}\npage: {page.GetRawText()}");

    [Fact]
    public async Task Results_are_the_documents_that_the_commands_print()
    {
        using var served = new Served(_bench);
        Same(Command("compare", "--baseline", "cover=none", "--variant", "cover=ring"), await served.Json("/api/compare?baseline=cover%3Dnone&variant=cover%3Dring"));
        Same(
            Command("compare", "--baseline", string.Join(',', _runs[..3]), "--variant", string.Join(',', _runs[3..5]), _runs[5], "--from", "1800", "--to", "450", "--leave-out", _runs[1]),
            await served.Json($"/api/compare?baseline={string.Join(',', _runs[..3])}&variant={string.Join(',', _runs[3..5])}&variant={_runs[5]}&fromRpm=1800&toRpm=450&leaveOut={_runs[1]}"));
        Same(Command("sweep", "--factor", "clearance_mm", "--from", "1800"), await served.Json("/api/sweep?factor=clearance_mm&fromRpm=1800"));
        Same(Command("spindown", _runs[0], _runs[4], "--from", "1500"), await served.Json($"/api/spindown?run={_runs[0]}&run={_runs[4]}&fromRpm=1500"));
        string lossy = SampleRuns.Write(_bench.Library, LossRun.Make(SampleRuns.Start.AddDays(3)));
        await Served.Until(async () => (await served.Json("/api/runs")).GetRawText().Contains(lossy, StringComparison.Ordinal), "the run that is to be forecast");
        Same(Command("forecast", lossy, "--until", "120", "--end", "300"), await served.Json($"/api/forecast?run={lossy}&untilS=120&endRpm=300"));
    }

    [Fact]
    public async Task A_run_is_what_show_prints_and_the_list_has_all_that_runs_prints()
    {
        using var served = new Served(_bench);
        Same(Command("show", _runs[0]), (await served.Json($"/api/runs/{_runs[0]}")).GetProperty("acquire"));
        JsonArray listed = Command("runs")["runs"]!.AsArray();
        JsonElement[] rows = [.. (await served.Json("/api/runs")).GetProperty("runs").EnumerateArray()];
        Assert.Equal(listed.Count, rows.Length);
        for (int i = 0; i < rows.Length; i++)
        {
            foreach ((string key, JsonNode? value) in listed[i]!.AsObject())
                Assert.True(JsonNode.DeepEquals(value, JsonNode.Parse(rows[i].GetProperty(key).GetRawText())), key);
            Assert.Equal(40, rows[i].GetProperty("curve").GetArrayLength());
        }
    }

    [Fact]
    public async Task Verifying_tells_a_run_that_is_whole_from_one_that_is_not()
    {
        using var served = new Served(_bench);
        async Task<JsonElement> Verify(string run)
        {
            using HttpResponseMessage answer = await served.Send(HttpMethod.Post, $"/api/runs/{run}/verify");
            return JsonDocument.Parse(await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken)).RootElement;
        }

        Assert.True((await Verify(_runs[0])).GetProperty("ok").GetBoolean());
        File.AppendAllText(Path.Combine(_bench.Library, _runs[0], "speed.csv"), "1,2,3,4,5\n");
        Assert.False((await Verify(_runs[0])).GetProperty("ok").GetBoolean());
    }

    [Fact]
    public async Task What_cannot_be_worked_out_is_told_in_the_commands_words()
    {
        using var served = new Served(_bench);
        using HttpResponseMessage answer = await served.Client.GetAsync(new Uri("/api/compare?baseline=cover%3Dnone&variant=cover%3Dnothing", UriKind.Relative), TestContext.Current.CancellationToken);
        Assert.Equal(422, (int)answer.StatusCode);
        JsonElement problem = JsonDocument.Parse(await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken)).RootElement;
        Assert.Contains("cover", Assert.Single(problem.GetProperty("problems").EnumerateArray()).GetString(), StringComparison.Ordinal);
        using HttpResponseMessage none = await served.Client.GetAsync(new Uri("/api/spindown?run=nothing", UriKind.Relative), TestContext.Current.CancellationToken);
        Assert.Equal(404, (int)none.StatusCode);
    }
}
