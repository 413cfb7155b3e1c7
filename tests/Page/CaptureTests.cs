using System.Net;
using System.Text.Json;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Tests;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;

namespace Acquire.Page.Tests;

/// <summary>What the page does to a capture, and what it cannot do to it.</summary>
public sealed class CaptureTests : IDisposable
{
    private const string Label = "{\"setup\":{\"top\":\"oak rim\",\"base\":\"glass\",\"cover\":\"jar\",\"operator\":\"A\",\"note\":\"labelled by hand\",\"factors\":{\"dish_radius_mm\":80}}}";
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task The_set_up_of_the_next_run_reaches_the_run_and_outlives_the_program()
    {
        using (var beside = new BesideCapture(_bench, [BesideCapture.ShortSpin(5)]))
        {
            Assert.Equal("from the settings", (await beside.Served.Json("/api/next")).GetProperty("setup").GetProperty("top").GetString());
            using HttpResponseMessage set = await beside.Served.Send(HttpMethod.Put, "/api/next", Label);
            Assert.Equal(HttpStatusCode.OK, set.StatusCode);
            beside.Start();
            RunSetup setup = BesideCapture.Descriptor(Assert.Single(beside.Outcome().Runs)).Setup;
            Assert.Equal(("oak rim", "glass", "jar", "A", "labelled by hand"), (setup.Top, setup.Base, setup.Cover, setup.Operator, setup.Note));
            Assert.Equal(80, setup.Factors["dish_radius_mm"]);
            await Served.Until(async () => (await beside.Served.Json("/api/set-ups")).GetProperty("top").EnumerateArray().Any(t => t.GetString() == "oak rim"), "the label is offered again");
        }

        using var again = new BesideCapture(_bench, [BesideCapture.ShortSpin(5)]);
        Assert.Equal("oak rim", (await again.Served.Json("/api/next")).GetProperty("willBe").GetProperty("top").GetString());
        again.Start();
        Assert.Equal("oak rim", BesideCapture.Descriptor(Assert.Single(again.Outcome().Runs)).Setup.Top);
    }

    [Fact]
    public async Task Where_a_plan_is_followed_its_row_is_told_and_wins_over_what_was_set()
    {
        string sheet = Path.Combine(_bench.Current, "plan.csv");
        File.WriteAllText(sheet, "plan,row,block,cover\ncovers,1,1,ring\ncovers,2,1,none\n");
        using var beside = new BesideCapture(_bench, [BesideCapture.ShortSpin(5)], plan: sheet);
        using HttpResponseMessage set = await beside.Served.Send(HttpMethod.Put, "/api/next", Label);
        JsonElement next = JsonDocument.Parse(await set.Content.ReadAsStringAsync(Stop)).RootElement;
        Assert.Equal(("jar", "ring", 1), (next.GetProperty("setup").GetProperty("cover").GetString(), next.GetProperty("willBe").GetProperty("cover").GetString(), next.GetProperty("plan").GetProperty("row").GetInt32()));
        Assert.Equal(2, (await beside.Served.Json("/api/plan")).GetProperty("runs").GetInt32());
        beside.Start();
        RunDescriptor run = BesideCapture.Descriptor(Assert.Single(beside.Outcome().Runs));
        Assert.Equal(("oak rim", "ring", 1), (run.Setup.Top, run.Setup.Cover, run.Plan?.Row));
    }

    [Theory]
    [InlineData("{\"setup\":{\"top\":\"two\\nlines\"}}", "--top")]
    [InlineData("{\"setup\":{\"factors\":{\"9\":1}}}", "--factor")]
    public async Task A_set_up_that_no_capture_takes_is_refused_with_what_is_allowed(string body, string said)
    {
        using var beside = new BesideCapture(_bench, []);
        using HttpResponseMessage answer = await beside.Served.Send(HttpMethod.Put, "/api/next", body);
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Contains(said, await answer.Content.ReadAsStringAsync(Stop), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_spin_ended_by_hand_is_saved_as_the_operators_and_what_turns_on_is_no_other_run()
    {
        using var beside = new BesideCapture(_bench, [BesideCapture.HourSpin(5)]);
        beside.Start();
        await Served.Until(() => Task.FromResult(beside.Session.Live is { Phase: RunPhase.Spinning, SinceReleaseS: > 5 }), "the spin is under way");
        using HttpResponseMessage ended = await beside.Served.Send(HttpMethod.Post, "/api/live/end");
        Assert.Equal(HttpStatusCode.Accepted, ended.StatusCode);
        await Served.Until(() => Task.FromResult(beside.Session.Live is { CanStart: true, FinishedRuns: 1, Marks: > 500 }), "the body turns on, and is seen to");
        using HttpResponseMessage nothing = await beside.Served.Send(HttpMethod.Post, "/api/live/end");
        Assert.Equal(HttpStatusCode.Conflict, nothing.StatusCode);
        string folder = Assert.Single(beside.Outcome(end: true).Runs);
        Assert.Equal(EndReasons.Operator, BesideCapture.Descriptor(folder).EndReason);
        Assert.Empty(RunVerifier.Verify(folder));
        Assert.Equal(1, beside.Session.Live.RunsBegun);
    }

    [Fact]
    public async Task Where_automatic_is_off_a_launch_is_no_run_until_it_is_started_by_hand()
    {
        using var beside = new BesideCapture(_bench, [BesideCapture.LongSpin(5), BesideCapture.LongSpin(60)], restAfterS: 120);
        using HttpResponseMessage off = await beside.Served.Send(HttpMethod.Put, "/api/live/automatic", "{\"automatic\":false}");
        Assert.Equal(HttpStatusCode.OK, off.StatusCode);
        using HttpResponseMessage early = await beside.Served.Send(HttpMethod.Post, "/api/live/start");
        Assert.Equal(HttpStatusCode.Conflict, early.StatusCode);
        beside.Start();
        await Served.Until(() => Task.FromResult(beside.Session.Live is { CanStart: true, IsAutomatic: false }), "something turns");
        await Served.Until(() => Task.FromResult(beside.Session.Live is { CanStart: false } && beside.QuietS > 15), "it has stopped");
        Assert.Equal(0, beside.Session.Live.RunsBegun);
        await Served.Until(() => Task.FromResult(beside.Session.Live.CanStart), "the second turns");
        using HttpResponseMessage started = await beside.Served.Send(HttpMethod.Post, "/api/live/start");
        Assert.Equal(HttpStatusCode.Accepted, started.StatusCode);
        string folder = Assert.Single(beside.Outcome().Runs);
        Assert.Equal(EndReasons.Stopped, BesideCapture.Descriptor(folder).EndReason);
        Assert.Empty(RunVerifier.Verify(folder));
    }

    [Fact]
    public async Task A_fault_a_hang_and_a_flood_in_the_page_leave_the_capture_and_its_run_whole()
    {
        using var hold = new ManualResetEventSlim();
        using var beside = new BesideCapture(_bench, [BesideCapture.ShortSpin(5)], more: api =>
        {
            api.MapGet("/boom", (HttpContext _) => throw new InvalidOperationException("the pen is dry"));
            api.MapGet("/hang", (HttpContext _) => hold.Wait(60_000));
        });
        beside.Start();
        Task<HttpResponseMessage>[] hanging = [.. Enumerable.Range(0, 20).Select(_ => beside.Served.Client.GetAsync(new Uri("/api/hang", UriKind.Relative), Stop))];
        for (int i = 0; i < 50; i++)
        {
            using HttpResponseMessage boom = await beside.Served.Client.GetAsync(new Uri("/api/boom", UriKind.Relative), Stop);
            Assert.Equal(HttpStatusCode.InternalServerError, boom.StatusCode);
            Assert.DoesNotContain("pen", await boom.Content.ReadAsStringAsync(Stop), StringComparison.Ordinal);
        }

        CaptureOutcome outcome = beside.Outcome();
        hold.Set();
        foreach (Task<HttpResponseMessage> one in hanging) (await one).Dispose();
        Assert.False(outcome.Failed);
        RunDescriptor run = BesideCapture.Descriptor(Assert.Single(outcome.Runs));
        Assert.Equal((0, 0), (run.Counts.Missed, run.Counts.LostOnLine));
    }
}
