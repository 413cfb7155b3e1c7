using System.Net.ServerSentEvents;
using System.Text.Json;
using Acquire.Acquisition;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Page;
using Acquire.Service.Tests;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Page.Tests;

public sealed class LiveStreamTests : IDisposable
{
    private readonly Bench _bench = new();
    private LiveState _live = new() { LinkUp = true, Source = "invented", LastHeardNs = TimeProvider.System.MonotonicNs() };

    public void Dispose() => _bench.Dispose();

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    private Served Serve() => new(_bench, Served.Capture(() => Volatile.Read(ref _live)));

    private void Spin(double rpm, RunPhase phase = RunPhase.Spinning, int runs = 1) => Volatile.Write(
        ref _live, _live with { Phase = phase, Rpm = rpm, URpm = 0.1, RunsBegun = runs, SinceReleaseS = phase == RunPhase.Spinning ? 1 : double.NaN, SignalQuality = 1, RunSetup = new RunSetup { Top = "oak rim" } });

    [Fact]
    public async Task A_page_is_told_of_the_state_at_once_and_of_changes_no_more_than_ten_times_a_second()
    {
        Spin(1800);
        using Served served = Serve();
        int lives = 0;
        long began = TimeProvider.System.GetTimestamp();
        await foreach (SseItem<string> item in EventReader.Listen(served.Client, null, Stop))
        {
            if (item.EventType != "live") continue;
            if (lives++ == 0) Assert.Equal(JsonValueKind.Number, JsonDocument.Parse(item.Data).RootElement.GetProperty("rpm").ValueKind);
            Spin(1800 - lives);
            if (lives == 31) break;
        }

        Assert.True(TimeProvider.System.GetElapsedTime(began).TotalSeconds >= 2.9, "31 states came faster than ten a second");
    }

    [Fact]
    public async Task What_was_missed_while_a_page_was_away_comes_first_when_it_is_back()
    {
        using Served served = Serve();
        List<SseItem<string>> first = await EventReader.Until(served.Client, null, i => i.EventType == "live", Stop);
        string id = first[^1].EventId!;
        Spin(900, RunPhase.Launching);
        await Notice(served, "began");
        Spin(1800);
        await Notice(served, "released");
        Volatile.Write(ref _live, new LiveState { LinkUp = true, RunsBegun = 1 });
        await Notice(served, "ended");

        List<SseItem<string>> back = await EventReader.Until(served.Client, id, i => i.EventType == "live", Stop);
        Assert.Equal(["began", "released", "ended"], back.Where(i => i.EventType == "notice").Select(i => JsonDocument.Parse(i.Data).RootElement.GetProperty("kind").GetString()));
        Assert.Equal("live", back[^1].EventType);
        List<SseItem<string>> again = await EventReader.Until(served.Client, back[^1].EventId, i => i.EventType == "live", Stop);
        Assert.DoesNotContain(again, i => i.EventType == "notice");
    }

    [Theory]
    [InlineData("00000000-1")]
    [InlineData("nonsense")]
    [InlineData("-9223372036854775808")]
    public async Task A_page_whose_last_event_is_not_known_here_is_told_to_fetch_everything_anew(string id)
    {
        using Served served = Serve();
        List<SseItem<string>> back = await EventReader.Until(served.Client, id, i => i.EventType == "live", Stop);
        Assert.Equal("reset", back[0].EventType);
    }

    [Fact]
    public async Task A_page_that_takes_nothing_is_owed_the_newest_state_and_no_backlog()
    {
        using var hub = new LiveHub(Served.Capture(() => Volatile.Read(ref _live)), _bench.Folder, TimeProvider.System, NullLogger.Instance);
        await using IAsyncEnumerator<SseItem<string>> page = new LiveStream(hub, TimeProvider.System).Events(null, Stop).GetAsyncEnumerator(Stop);
        Assert.True(await page.MoveNextAsync());
        for (int i = 0; i < 3 * EventRing.Most; i++) hub.Tell("curve", new CurvePoint(1, i, i));
        Spin(1234);
        await Served.Until(() => Task.FromResult(hub.Latest.Document.Rpm == 1234), "the hub has seen the state");

        Assert.True(await page.MoveNextAsync());
        Assert.Equal("reset", page.Current.EventType);
        var next = new List<SseItem<string>>();
        do
        {
            Assert.True(await page.MoveNextAsync());
            next.Add(page.Current);
        }
        while (next[^1].EventType != "live");
        Assert.Contains("1234", next[^1].Data, StringComparison.Ordinal);
        Assert.True(next.Count < 50, $"{next.Count} events before the newest state");
    }

    [Fact]
    public async Task Where_many_pages_are_open_each_gets_every_second_state_and_always_the_last_and_each_phase()
    {
        Spin(1800);
        using var hub = new LiveHub(Served.Capture(() => Volatile.Read(ref _live)), _bench.Folder, TimeProvider.System, NullLogger.Instance);
        var stream = new LiveStream(hub, TimeProvider.System);
        for (int i = 0; i <= LiveStream.Few; i++) Assert.True(stream.TryEnter());
        await Served.Until(() => Task.FromResult(hub.Latest.Document.Rpm == 1800), "the hub has seen the state");
        await using IAsyncEnumerator<SseItem<string>> page = stream.Events(null, Stop).GetAsyncEnumerator(Stop);
        await NextState(page);
        long began = TimeProvider.System.GetTimestamp();
        double Ms() => TimeProvider.System.GetElapsedTime(began).TotalMilliseconds;
        const int states = 10;
        await using (new Timer(_ => Spin(1800 - (0.001 * Ms())), null, 0, 20))
            for (int i = 0; i < states; i++) await NextState(page);
        Assert.True(Ms() > (2 * states - 2) * LiveHub.LookEveryMs, $"{states} states in {Ms()} ms");
        Spin(1234);
        while (!(await NextState(page)).Contains("1234", StringComparison.Ordinal)) continue;
        Spin(1233, RunPhase.Lost);
        Assert.Contains("\"lost\"", await NextState(page), StringComparison.Ordinal);
    }

    private static async Task<string> NextState(IAsyncEnumerator<SseItem<string>> page)
    {
        do Assert.True(await page.MoveNextAsync());
        while (page.Current.EventType != "live");
        return page.Current.Data;
    }

    [Fact]
    public async Task The_curve_so_far_is_that_of_the_spin_under_way_and_begins_anew_with_the_next()
    {
        using Served served = Serve();
        Spin(1800, RunPhase.Launching);
        await Served.Until(async () => (await served.Json("/api/live/curve")).GetProperty("rpm").GetArrayLength() >= 3, "three points");
        JsonElement curve = await served.Json("/api/live/curve");
        Assert.Equal(1, curve.GetProperty("runNumber").GetInt32());
        Assert.Equal(1800, curve.GetProperty("rpm")[1].GetDouble(), 1e-6);
        Assert.Equal(0.75, curve.GetProperty("timesS")[1].GetDouble(), 1e-9);

        Spin(700, RunPhase.Launching, runs: 2);
        await Served.Until(async () => (await served.Json("/api/live/curve")).GetProperty("runNumber").GetInt32() == 2, "the second spin");
    }

    [Fact]
    public void A_curve_stays_bounded_and_keeps_its_mean_speeds()
    {
        var curve = new SpinCurve();
        for (double t = 0; t < 20_000; t += 0.1) curve.Add(t, 3000 - (0.1 * t));
        Assert.InRange(curve.Count, SpinCurve.Most / 2, SpinCurve.Most);
        for (int i = 0; i < curve.Count; i += 97) Assert.Equal(3000 - (0.1 * (i + 0.5) * curve.StepS), curve.Rpm[i], 0.2);
    }

    [Fact]
    public async Task Where_no_capture_runs_the_phase_is_off_and_orders_are_refused()
    {
        using var served = new Served(_bench);
        Assert.Equal("off", (await served.Json("/api/live")).GetProperty("phase").GetString());
        foreach (string path in new[] { "/api/live/start", "/api/live/end" })
        {
            using HttpResponseMessage answer = await served.Send(HttpMethod.Post, path);
            Assert.Equal(409, (int)answer.StatusCode);
        }
    }

    [Fact]
    public async Task A_state_that_cannot_be_had_costs_the_page_a_look_and_no_more()
    {
        int looks = 0;
        using var served = new Served(_bench, Served.Capture(() => Interlocked.Increment(ref looks) % 2 == 0 ? throw new InvalidOperationException("the pen is dry") : new LiveState { LinkUp = true, RunsBegun = looks }));
        await Served.Until(async () => (await served.Json("/api/live")).GetProperty("runNumber").GetInt32() > 4, "further looks");
    }

    private static async Task Notice(Served served, string kind)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(Stop);
        limit.CancelAfter(TimeSpan.FromSeconds(20));
        string start = (await EventReader.Until(served.Client, null, i => i.EventType == "live", limit.Token))[^1].EventId!;
        string era = start[..(start.LastIndexOf('-') + 1)];
        await Served.Until(
            async () => (await EventReader.Until(served.Client, era + "0", i => i.EventType == "live", limit.Token))
                .Any(i => i.EventType == "notice" && i.Data.Contains($"\"kind\":\"{kind}\"", StringComparison.Ordinal)),
            kind);
    }
}
