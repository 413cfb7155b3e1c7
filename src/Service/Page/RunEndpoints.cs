using System.Text.Json;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Runs;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;
using HttpResults = Microsoft.AspNetCore.Http.Results;

namespace Acquire.Service.Page;

/// <summary>The library: all runs, one run, its tables, and what is changed of it.</summary>
internal static class RunEndpoints
{
    private const int UsualPoints = 2000;
    private const int MostPoints = 100_000;
    private static readonly TimeSpan FirstLook = TimeSpan.FromSeconds(10);

    /// <summary>Adds them.</summary>
    public static void Map(RouteGroupBuilder api, PageState state)
    {
        var list = new RunsAnswer(state.Settings.Library);
        api.MapGet("/runs", async (HttpContext context) =>
        {
            if (!state.Index.Now.IsWhole) await Task.Run(() => state.Index.WaitWhole(FirstLook), context.RequestAborted);
            return list.Of(state.Index.Now, context);
        }).Produces(200, contentType: "application/json").WithSummary("All runs, each as acquire runs --json says it, with a small curve.");
        api.MapGet("/runs/{run}", (string run) => One(run, state)).Produces<RunDocument>().ProducesProblem(404).WithSummary("A run: what acquire show RUN --json says, and its files.");
        api.MapPatch("/runs/{run}", (string run, RunPatch patch, CancellationToken stop) => RunChanging.Change(run, patch, state, stop))
            .Produces<RunDocument>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).WithSummary("Changes set-up, note, spoilt mark or name, as acquire edit does.");
        api.MapDelete("/runs/{run}", (string run, CancellationToken stop) => RunChanging.Delete(run, state, stop)).Produces(204).ProducesProblem(404).WithSummary("Moves a run into the trash.");
        api.MapGet("/trash", () => new NamesDocument(RunTrash.List(state.Settings.Library))).WithSummary("Names of the runs in the trash.");
        api.MapPost("/trash/{run}/restore", (string run, CancellationToken stop) => RunChanging.Restore(run, state, stop))
            .Produces<NameDocument>().ProducesProblem(404).ProducesProblem(409).WithSummary("Brings a run back.");
        api.MapGet("/runs/{run}/curve", (string run, int? points, HttpContext context) => Table(run, state, context, r => Curve(r, points ?? UsualPoints)))
            .Produces<CurveDocument>().ProducesProblem(400).ProducesProblem(404).WithSummary("Speed and deceleration with their uncertainties, thinned.");
        api.MapGet("/runs/{run}/events", (string run, HttpContext context) => Table(run, state, context, Events))
            .Produces<EventsDocument>().ProducesProblem(404).WithSummary("What happened in a run.");
        RunFiles.Map(api, state);
    }

    /// <summary>A run's document.</summary>
    public static IResult One(string name, PageState state)
    {
        if (state.Run(name) is not { } run) return PageAnswers.NoRun(name);
        if (run.Descriptor is null) return PageAnswers.Problem(422, "The run cannot be read.", [run.Problem ?? ""]);
        try
        {
            using JsonDocument document = JsonDocument.Parse(File.ReadAllBytes(Path.Combine(run.Folder, "datapackage.json")));
            RunFileDocument[] files = [.. run.Files.Select(f => new RunFileDocument(f.Key, f.Value, RunFiles.What(f.Key)))];
            return HttpResults.Ok(new RunDocument(run.Name, document.RootElement.GetProperty("acquire").Clone(), files, run.Files.ContainsKey(RunCompanions.Report)));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or JsonException or KeyNotFoundException)
        {
            return PageAnswers.Problem(422, "The run cannot be read.", [e.Message]);
        }
    }

    private static async Task<IResult> Table(string name, PageState state, HttpContext context, Func<IndexedRun, IResult> read)
    {
        if (state.Run(name) is not { } run) return PageAnswers.NoRun(name);
        if (!await state.Reading.WaitAsync(TimeSpan.FromSeconds(10), context.RequestAborted)) return PageAnswers.Busy(context);
        try
        {
            return await Task.Run(() => read(run), context.RequestAborted);
        }
        catch (Exception e) when (e is RunFormatException or IOException or UnauthorizedAccessException)
        {
            return PageAnswers.Problem(422, "The run cannot be read.", [e.Message]);
        }
        finally
        {
            state.Reading.Release();
        }
    }

    private static IResult Events(IndexedRun run) =>
        HttpResults.Ok(new EventsDocument([.. RunPackageReader.ReadEvents(run.Folder).Select(e => new EventDocument(e.TimeS, e.Event, e.Detail))]));

    private static IResult Curve(IndexedRun run, int points)
    {
        if (points is < 10 or > MostPoints) return PageAnswers.Wrong($"points: {points}; allowed is a whole number from 10 to {MostPoints}");
        IReadOnlyList<SpeedPoint> all = RunPackageReader.ReadSpeed(run.Folder);
        SpeedPoint[] thin = Thin(all, points);
        RunResult? result = run.Descriptor?.Result;
        return HttpResults.Ok(new CurveDocument(
            run.Name, Known(result?.ReleaseS), Known(result?.StopS), [.. thin.Select(p => p.TimeS)], [.. thin.Select(p => p.Rpm)], [.. thin.Select(p => p.URpm)],
            [.. thin.Select(p => p.DecelRpmPerS)], [.. thin.Select(p => p.UDecelRpmPerS)]));
    }

    // Neighbours' errors are much the same, since each is a smooth curve's: their mean is as uncertain as one of them.
    private static SpeedPoint[] Thin(IReadOnlyList<SpeedPoint> all, int points)
    {
        if (all.Count <= points) return [.. all];
        var thin = new SpeedPoint[points];
        for (int i = 0; i < points; i++)
        {
            int from = (int)((long)all.Count * i / points);
            int to = (int)((long)all.Count * (i + 1) / points);
            double Mean(Func<SpeedPoint, double> of) => Enumerable.Range(from, to - from).Select(j => of(all[j])).Where(double.IsFinite).DefaultIfEmpty(double.NaN).Average();
            thin[i] = new SpeedPoint(Mean(p => p.TimeS), Mean(p => p.Rpm), Mean(p => p.URpm), Mean(p => p.DecelRpmPerS), Mean(p => p.UDecelRpmPerS));
        }

        return thin;
    }

    private static double? Known(double? value) => value is { } v && double.IsFinite(v) ? v : null;
}
