using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Commands;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;
using HttpResults = Microsoft.AspNetCore.Http.Results;

namespace Acquire.Service.Page;

/// <summary>What goes on, the set-up of the next run, and start and end by hand.</summary>
internal static class LiveEndpoints
{
    private const int MostValues = 50;
    private const int MostRecent = 10;

    /// <summary>Adds them.</summary>
    public static void Map(RouteGroupBuilder api, PageState state)
    {
        api.MapGet("/live", () => PageAnswers.Document(state.Hub.Latest.Json))
            .Produces<LiveDocument>().WithSummary("What goes on: phase, speed, forecast of the end, sensor, losses, room.");
        api.MapGet("/live/events", (HttpContext context) => Events(context, state))
            .Produces(200, contentType: "text/event-stream").WithSummary("The same as server-sent events, ten a second at the most, with what happened; Last-Event-ID brings what was missed.");
        api.MapGet("/live/curve", () => state.Hub.SoFar)
            .Produces<CurveSoFar>().WithSummary("Speed of the spin under way, or of the last, so far.");
        api.MapPost("/live/start", () => Start(state)).Produces(202).ProducesProblem(409).WithSummary("Takes what turns now for a run.");
        api.MapPost("/live/end", () => End(state)).Produces(202).ProducesProblem(409).WithSummary("Ends the run under way; it is saved as the operator's.");
        api.MapPut("/live/automatic", (AutomaticDocument order) => Automatic(order, state))
            .Produces<AutomaticDocument>().ProducesProblem(409).WithSummary("Whether a launch is a run by itself, or only what is started by hand.");
        api.MapGet("/next", () => state.Next is { } next ? HttpResults.Ok(next.Document()) : NoCapture())
            .Produces<NextDocument>().ProducesProblem(409).WithSummary("The set-up of the next run.");
        api.MapPut("/next", (NextOrder order) => SetNext(order, state))
            .Produces<NextDocument>().ProducesProblem(400).ProducesProblem(409).WithSummary("Sets the set-up of the runs that begin from now on.");
        api.MapGet("/set-ups", () => Earlier(state)).Produces<EarlierSetups>().WithSummary("Values and set-ups of earlier runs, the last first.");
        api.MapGet("/plan", () => Plan(state)).Produces(200, contentType: "application/json").ProducesProblem(404).WithSummary("How far the plan that is followed is done; as acquire plan FILE --json.");
        api.MapGet("/status", () => Status(state)).Produces<CaptureStatus>().WithSummary("How the capture is; as acquire status --json.");
    }

    private static IResult Events(HttpContext context, PageState state)
    {
        if (!state.Stream.TryEnter()) return PageAnswers.Busy(context);
        context.Response.OnCompleted(() =>
        {
            state.Stream.Leave();
            return Task.CompletedTask;
        });
        var stop = CancellationTokenSource.CreateLinkedTokenSource(context.RequestAborted, state.Ending);
        context.Response.RegisterForDispose(stop);
        context.Response.Headers["X-Accel-Buffering"] = "no"; // a proxy in between passes it on at once
        return TypedResults.ServerSentEvents(state.Stream.Events(context.Request.Headers["Last-Event-ID"].ToString(), stop.Token));
    }

    private static IResult NoCapture() => PageAnswers.NotNow("No capture runs here: the library only is served.");

    private static IResult Start(PageState state) => state.Capture is not { } capture ? NoCapture()
        : capture.Live() is { Phase: not (RunPhase.Waiting or RunPhase.Ended) } ? PageAnswers.NotNow("A run is under way already.")
        : !capture.Live().CanStart ? PageAnswers.NotNow("Nothing turns before the sensor that could be taken for a run.")
        : Give(capture, new CaptureOrder.Start());

    private static IResult End(PageState state) => state.Capture is not { } capture ? NoCapture()
        : capture.Live().Phase is RunPhase.Waiting or RunPhase.Ended ? PageAnswers.NotNow("No run is under way.")
        : Give(capture, new CaptureOrder.End());

    private static IResult Give(PageCapture capture, CaptureOrder order) =>
        capture.Orders.TryGive(order) ? HttpResults.Accepted() : PageAnswers.NotNow("The capture takes no orders just now; see its status.");

    private static IResult Automatic(AutomaticDocument order, PageState state) => state.Capture is not { } capture ? NoCapture()
        : capture.Orders.TryGive(new CaptureOrder.Automatic(order.Automatic)) ? HttpResults.Ok(order) : PageAnswers.NotNow("The capture takes no orders just now; see its status.");

    private static IResult SetNext(NextOrder order, PageState state)
    {
        if (state.Next is not { } next) return NoCapture();
        if (order.Setup is null) return PageAnswers.Wrong("setup: nothing given; allowed is an object with top, base, cover, operator, note and factors");
        var problems = new List<string>();
        RunSetup setup = order.Setup.Checked(problems);
        if (problems.Count > 0) return PageAnswers.Wrong(problems);
        if (!next.TrySet(setup)) return PageAnswers.NotNow("The capture takes no orders just now; see its status.");
        state.Hub.Tell("next", new object());
        return HttpResults.Ok(next.Document());
    }

    private static EarlierSetups Earlier(PageState state)
    {
        RunSetup[] all = [.. state.Setups()];
        string[] Values(Func<RunSetup, string> of) => [.. all.Select(of).Where(v => v.Length > 0).Distinct(StringComparer.Ordinal).Take(MostValues)];
        EarlierFactor[] factors =
        [
            .. all.SelectMany(s => s.Factors).GroupBy(f => f.Key, StringComparer.Ordinal).Take(MostValues)
                .Select(f => new EarlierFactor(f.Key, [.. f.Select(v => v.Value).Where(double.IsFinite).Distinct().Take(MostValues)])),
        ];
        SetupDocument[] recent =
        [
            .. all.Select(s => s with { Note = "" }).DistinctBy(s => (s.Top, s.Base, s.Cover, s.Operator, string.Join('\n', s.Factors.OrderBy(f => f.Key, StringComparer.Ordinal).Select(f => FormattableString.Invariant($"{f.Key}={f.Value:R}")))))
                .Take(MostRecent).Select(SetupDocument.Of),
        ];
        return new EarlierSetups(Values(s => s.Top), Values(s => s.Base), Values(s => s.Cover), Values(s => s.Operator), factors, recent);
    }

    private static IResult Plan(PageState state)
    {
        if (state.Capture?.Plan() is not { } plan) return PageAnswers.None("No plan is followed.");
        using var text = new StringWriter();
        JsonAnswer.Write(text, writer => PlanJson.WriteProgress(writer, plan.Progress, state.Capture.Options.Plan));
        return PageAnswers.Document(text.ToString());
    }

    private static IResult Status(PageState state)
    {
        CaptureStatus status = state.Capture?.Status()
            ?? new CaptureStatus { Running = false, Well = false, Problems = ["no capture runs beside this page"], Library = state.Settings.Library };
        return PageAnswers.Document(System.Text.Json.JsonSerializer.SerializeToUtf8Bytes(status, StatusJson.Status));
    }
}
