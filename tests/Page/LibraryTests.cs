using System.IO.Compression;
using System.Net;
using System.Net.Http.Headers;
using System.Security.Cryptography;
using System.Text.Json;
using Acquire.Recording;
using Acquire.Service.Page;
using Acquire.Service.Tests;

namespace Acquire.Page.Tests;

/// <summary>The library as the page has it; the folders are the truth.</summary>
public sealed class LibraryTests : IDisposable
{
    private readonly Bench _bench = new();
    private readonly string _run;

    public LibraryTests() => _run = SampleRuns.Write(_bench.Library, SampleRuns.Make());

    public void Dispose() => _bench.Dispose();

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    private static async Task<string[]> Names(Served served) => [.. (await served.Json("/api/runs")).GetProperty("runs").EnumerateArray().Select(r => r.GetProperty("run").GetString()!)];

    [Fact]
    public async Task Runs_that_come_change_and_go_beside_the_page_are_seen()
    {
        using var served = new Served(_bench);
        Assert.Equal([_run], await Names(served));
        string second = SampleRuns.Write(_bench.Library, SampleRuns.Make(top: "beech", start: SampleRuns.Start.AddHours(1)));
        await Served.Until(async () => (await Names(served)).SequenceEqual([_run, second]), "the second run");
        Assert.Equal(0, _bench.Run("edit", second, "--cover", "bell"));
        await Served.Until(async () => (await served.Json("/api/runs")).GetProperty("runs")[1].GetProperty("cover").GetString() == "bell", "the edit");
        Assert.Equal("bell", (await served.Json($"/api/runs/{second}")).GetProperty("acquire").GetProperty("setup").GetProperty("cover").GetString());
        Assert.Equal(0, _bench.Run("edit", second, "--delete"));
        await Served.Until(async () => (await Names(served)).SequenceEqual([_run]), "that it has gone");
        Directory.CreateDirectory(Path.Combine(_bench.Library, "no run"));
        await Served.Until(async () => (await served.Json("/api/runs")).GetProperty("unreadable").GetArrayLength() == 1, "the folder that is no run");
    }

    [Fact]
    public async Task An_edit_is_entered_in_the_run_as_the_commands_is()
    {
        using var served = new Served(_bench);
        using HttpResponseMessage answer = await served.Send(HttpMethod.Patch, $"/api/runs/{_run}", "{\"cover\":\"bell\",\"note\":\"\",\"factors\":{\"dish_radius_mm\":null,\"clearance_mm\":4.5},\"spoilt\":\"the hand slipped\",\"rename\":\"bell-jar\"}");
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        JsonElement document = JsonDocument.Parse(await answer.Content.ReadAsStringAsync(Stop)).RootElement;
        string now = document.GetProperty("run").GetString()!;
        Assert.EndsWith("-bell-jar", now, StringComparison.Ordinal);
        RunDescriptor run = RunPackageReader.ReadDescriptor(Path.Combine(_bench.Library, now));
        Assert.Equal(("bell", "", "the hand slipped"), (run.Setup.Cover, run.Setup.Note, run.Spoilt));
        Assert.Equal([new KeyValuePair<string, double>("clearance_mm", 4.5)], run.Setup.Factors);
        Assert.Equal(["cover", "note", "factors.dish_radius_mm", "factors.clearance_mm", "spoilt", "folder"], run.Edits!.Select(e => e.What));
        Assert.Empty(RunVerifier.Verify(Path.Combine(_bench.Library, now)));
        Assert.Equal([now], await Names(served));
        JsonElement row = (await served.Json("/api/runs")).GetProperty("runs")[0];
        Assert.Equal(("the hand slipped", true), (row.GetProperty("spoilt").GetString(), row.GetProperty("edited").GetBoolean()));
    }

    [Theory]
    [InlineData("{}", 400)]
    [InlineData("{\"top\":\"a\\u0007b\"}", 400)]
    [InlineData("{\"factors\":{\"no name\":1}}", 400)]
    [InlineData("{\"factors\":{\"not_there\":null}}", 409)]
    [InlineData("{\"rename\":\"../elsewhere\"}", 409)]
    [InlineData("{\"rename\":\"Upper Case\"}", 409)]
    [InlineData("{\"tpo\":\"misspelt\"}", 400)]
    public async Task An_edit_that_cannot_be_made_changes_nothing(string body, int status)
    {
        using var served = new Served(_bench);
        byte[] before = File.ReadAllBytes(Path.Combine(_bench.Library, _run, "datapackage.json"));
        using HttpResponseMessage answer = await served.Send(HttpMethod.Patch, $"/api/runs/{_run}", body);
        Assert.Equal(status, (int)answer.StatusCode);
        Assert.Equal(before, File.ReadAllBytes(Path.Combine(_bench.Library, _run, "datapackage.json")));
    }

    [Fact]
    public async Task A_deleted_run_is_in_the_trash_and_comes_back()
    {
        using var served = new Served(_bench);
        using HttpResponseMessage deleted = await served.Send(HttpMethod.Delete, $"/api/runs/{_run}", null);
        Assert.Equal(HttpStatusCode.NoContent, deleted.StatusCode);
        Assert.Empty(await Names(served));
        Assert.Equal(_run, (await served.Json("/api/trash")).GetProperty("runs")[0].GetString());
        using HttpResponseMessage back = await served.Send(HttpMethod.Post, $"/api/trash/{_run}/restore");
        Assert.Equal(HttpStatusCode.OK, back.StatusCode);
        Assert.Equal([_run], await Names(served));
        Assert.Empty(RunVerifier.VerifyLibrary(_bench.Library));
    }

    [Fact]
    public async Task Files_and_the_archive_of_all_are_the_runs_own_bytes()
    {
        using var served = new Served(_bench);
        JsonElement[] files = [.. (await served.Json($"/api/runs/{_run}")).GetProperty("files").EnumerateArray()];
        Assert.Equal(["datapackage.json", "events.csv", "pulses.csv", "speed.csv"], files.Select(f => f.GetProperty("name").GetString()));
        byte[] zip = await served.Client.GetByteArrayAsync(new Uri($"/api/runs/{_run}/zip", UriKind.Relative), Stop);
        string unpacked = Path.Combine(_bench.Folder, "unpacked");
        await ZipFile.ExtractToDirectoryAsync(new MemoryStream(zip), unpacked, Stop);
        Assert.Empty(RunVerifier.Verify(Path.Combine(unpacked, _run)));
        foreach (JsonElement file in files)
        {
            string name = file.GetProperty("name").GetString()!;
            using HttpResponseMessage answer = await served.Client.GetAsync(new Uri($"/api/runs/{_run}/files/{name}", UriKind.Relative), Stop);
            Assert.Equal($"{_run}-{name}", answer.Content.Headers.ContentDisposition!.FileName);
            Assert.Equal("attachment", answer.Content.Headers.ContentDisposition.DispositionType);
            Assert.Equal(SHA256.HashData(File.ReadAllBytes(Path.Combine(_bench.Library, _run, name))), SHA256.HashData(await answer.Content.ReadAsByteArrayAsync(Stop)));
        }
    }

    [Fact]
    public async Task Several_runs_come_in_one_archive_and_none_where_one_is_not_there()
    {
        string second = SampleRuns.Write(_bench.Library, SampleRuns.Make(top: "beech", start: SampleRuns.Start.AddHours(1)));
        using var served = new Served(_bench);
        byte[] zip = await served.Client.GetByteArrayAsync(new Uri($"/api/zip?run={_run}&run={second}&run={_run}", UriKind.Relative), Stop);
        string unpacked = Path.Combine(_bench.Folder, "unpacked");
        await ZipFile.ExtractToDirectoryAsync(new MemoryStream(zip), unpacked, Stop);
        Assert.Equal(2, Directory.GetDirectories(unpacked).Length);
        Assert.Empty(RunVerifier.VerifyLibrary(unpacked));
        using HttpResponseMessage missing = await served.Client.GetAsync(new Uri($"/api/zip?run={_run}&run=nothing", UriKind.Relative), Stop);
        Assert.Equal(HttpStatusCode.NotFound, missing.StatusCode);
        using HttpResponseMessage none = await served.Client.GetAsync(new Uri("/api/zip", UriKind.Relative), Stop);
        Assert.Equal(HttpStatusCode.BadRequest, none.StatusCode);
    }

    [Theory]
    [InlineData("/api/compare?baseline=a&variant=b&fromRpm=fast", "fromRpm: 'fast'; allowed is a number, such as 1500")]
    [InlineData("/api/runs/x/curve?points=1.5", "points: '1.5'; allowed is a whole number")]
    [InlineData("/api/sweep?factor=a&withSpoilt=perhaps", "withSpoilt: 'perhaps'; allowed is true or false")]
    public async Task A_value_that_cannot_be_read_is_named_with_what_is_allowed(string path, string said)
    {
        using var served = new Served(_bench);
        using HttpResponseMessage answer = await served.Client.GetAsync(new Uri(path, UriKind.Relative), Stop);
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Equal(said, JsonDocument.Parse(await answer.Content.ReadAsStringAsync(Stop)).RootElement.GetProperty("problems")[0].GetString());
    }

    [Fact]
    public async Task The_list_is_answered_again_only_where_it_has_changed_and_packed_where_that_is_taken()
    {
        using var served = new Served(_bench);
        using HttpResponseMessage first = await served.Client.GetAsync(new Uri("/api/runs", UriKind.Relative), Stop);
        using HttpResponseMessage same = await served.Send(HttpMethod.Get, "/api/runs", null, false, ("If-None-Match", first.Headers.ETag!.ToString()));
        Assert.Equal(HttpStatusCode.NotModified, same.StatusCode);
        using var request = new HttpRequestMessage(HttpMethod.Get, new Uri("/api/runs", UriKind.Relative));
        request.Headers.AcceptEncoding.Add(new StringWithQualityHeaderValue("gzip"));
        using HttpResponseMessage packed = await served.Client.SendAsync(request, Stop);
        Assert.Equal(["gzip"], packed.Content.Headers.ContentEncoding);
        await using var gzip = new GZipStream(await packed.Content.ReadAsStreamAsync(Stop), CompressionMode.Decompress);
        using var text = new StreamReader(gzip);
        Assert.Equal(await first.Content.ReadAsStringAsync(Stop), await text.ReadToEndAsync(Stop));
    }

    [Fact]
    public async Task A_thinned_curve_follows_speed_csv_and_keeps_a_gap_open()
    {
        string gap = SampleRuns.Write(_bench.Library, SampleRuns.Make(start: SampleRuns.Start.AddHours(2), gap: (400, 700)));
        using var served = new Served(_bench);
        JsonElement curve = await served.Json($"/api/runs/{gap}/curve?points=100");
        (double T, double? Rpm)[] points =
        [
            .. curve.GetProperty("timesS").EnumerateArray().Zip(curve.GetProperty("rpm").EnumerateArray(), (t, r) => (t.GetDouble(), r.ValueKind == JsonValueKind.Null ? (double?)null : r.GetDouble())),
        ];
        Assert.Equal(100, points.Length);
        Assert.Contains(points, p => p.T is > 420 and < 680 && p.Rpm is null);
        Dictionary<double, double> all = RunPackageReader.ReadSpeed(Path.Combine(_bench.Library, gap)).ToDictionary(p => Math.Round(p.TimeS), p => p.Rpm);
        Assert.All(points.Where(p => p.Rpm is not null && p.T > 20 && all.TryGetValue(Math.Round(p.T), out double at) && double.IsFinite(at)), p => Assert.Equal(all[Math.Round(p.T)], p.Rpm!.Value, 3.0));
        Assert.Equal("launch", (await served.Json($"/api/runs/{gap}/events")).GetProperty("events")[0].GetProperty("event").GetString());

        IReadOnlyList<int?> small = SmallCurve.Read(Path.Combine(_bench.Library, gap));
        Assert.Equal(SmallCurve.Points, small.Count);
        Assert.Contains(null, small);
        double stepS = all.Keys.Max() / (SmallCurve.Points - 1);
        for (int i = 1; i < small.Count; i++)
        {
            if (small[i] is { } rpm && all.TryGetValue(Math.Round(i * stepS), out double exact) && double.IsFinite(exact)) Assert.Equal(exact, rpm, 4.0);
        }
    }

    [Fact]
    public async Task Every_endpoint_is_in_the_description_and_says_what_it_is_for()
    {
        using var served = new Served(_bench);
        JsonElement paths = (await served.Json("/api/openapi.json")).GetProperty("paths");
        string[] known =
        [
            "GET /api/session", "POST /api/session", "DELETE /api/session", "GET /api/live", "GET /api/live/events", "GET /api/live/curve", "POST /api/live/start", "POST /api/live/end", "PUT /api/live/automatic",
            "GET /api/next", "PUT /api/next", "GET /api/set-ups", "GET /api/plan", "GET /api/status", "GET /api/runs", "GET /api/runs/{run}", "PATCH /api/runs/{run}", "DELETE /api/runs/{run}", "GET /api/trash",
            "POST /api/trash/{run}/restore", "GET /api/runs/{run}/curve", "GET /api/runs/{run}/events", "GET /api/runs/{run}/report", "GET /api/runs/{run}/files/{file}", "GET /api/runs/{run}/zip", "GET /api/zip",
            "POST /api/runs/{run}/verify", "GET /api/spindown", "GET /api/compare", "GET /api/sweep", "GET /api/forecast", "GET /api/about",
        ];
        var found = paths.EnumerateObject().SelectMany(p => p.Value.EnumerateObject().Select(m => (Name: $"{m.Name.ToUpperInvariant()} {p.Name}", m.Value))).ToList();
        Assert.Equal(known.Order(), found.Select(f => f.Name).Order());
        Assert.All(found, f => Assert.True(f.Value.TryGetProperty("summary", out JsonElement summary) && summary.GetString()!.EndsWith('.'), f.Name));
    }
}
