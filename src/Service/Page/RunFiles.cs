using System.IO.Compression;
using Acquire.Service.Runs;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.AspNetCore.Routing;
using HttpResults = Microsoft.AspNetCore.Http.Results;

namespace Acquire.Service.Page;

/// <summary>Files of a run to take away. What a request names is only ever looked up among the names that the index has; it never becomes a path.</summary>
internal static class RunFiles
{
    // A report's own style and pictures, and nothing else: it may not run a script, and is of no origin of ours.
    private const int MostRuns = 200;
    private const string ReportPolicy = "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'; base-uri 'none'; form-action 'none'";

    /// <summary>Adds the endpoints.</summary>
    public static void Map(RouteGroupBuilder api, PageState state)
    {
        api.MapGet("/runs/{run}/report", (string run, HttpContext context) => Report(run, state, context)).Produces(200, contentType: "text/html").ProducesProblem(404).WithSummary("The run's own page.");
        api.MapGet("/runs/{run}/files/{file}", (string run, string file) => One(run, file, state)).Produces(200, contentType: "application/octet-stream").ProducesProblem(404).WithSummary("A file of a run.");
        api.MapGet("/zip", (string[] run, HttpContext context) => Zip(run, state, context)).Produces(200, contentType: "application/zip").ProducesProblem(400).ProducesProblem(404).WithSummary("Several runs in one archive.");
        api.MapGet("/runs/{run}/zip", (string run, HttpContext context) => Zip([run], state, context)).Produces(200, contentType: "application/zip").ProducesProblem(404).WithSummary("All files of a run in one archive.");
    }

    /// <summary>What a file is, for people.</summary>
    public static string What(string name) => name switch
    {
        "datapackage.json" => "The descriptor: units, hashes, set-up, counts, result.",
        "pulses.csv" => "Every pulse received.",
        "speed.csv" => "Speed and deceleration with their uncertainties.",
        "events.csv" => "What happened.",
        "wobble.csv" => "The slow precession.",
        "environment.csv" => "The air.",
        RunCompanions.Report => "One page with all of it.",
        _ => "",
    };

    private static IResult Report(string name, PageState state, HttpContext context)
    {
        if (Existing(name, RunCompanions.Report, state) is not { } path) return PageAnswers.None("There is no report of this run.");
        context.Response.Headers.ContentSecurityPolicy = ReportPolicy;
        context.Response.Headers.CacheControl = "private, no-cache";
        return HttpResults.File(path, "text/html; charset=utf-8", lastModified: File.GetLastWriteTimeUtc(path));
    }

    private static IResult One(string name, string file, PageState state) => Existing(name, file, state) is { } path
        ? HttpResults.File(path, Kind(file), $"{name}-{file}", File.GetLastWriteTimeUtc(path), enableRangeProcessing: true)
        : PageAnswers.None($"There is no file '{PageAnswers.Shown(file)}' of a run '{PageAnswers.Shown(name)}'.");

    private static string? Existing(string name, string file, PageState state)
    {
        if (state.Run(name) is not { } run || !run.Files.ContainsKey(file)) return null;
        string path = Path.Combine(run.Folder, file);
        return new FileInfo(path) is { Exists: true, LinkTarget: null } ? path : null;
    }

    private static string Kind(string file) => Path.GetExtension(file) switch
    {
        ".csv" => "text/csv; charset=utf-8",
        ".json" => "application/json",
        _ => "application/octet-stream",
    };

    private static async Task<IResult> Zip(string[] names, PageState state, HttpContext context)
    {
        if (names.Length is 0 or > MostRuns) return PageAnswers.Wrong($"run: {names.Length} runs; allowed are 1 to {MostRuns}");
        if (Array.Find(names, n => state.Run(n) is null) is { } missing) return PageAnswers.NoRun(missing);
        IndexedRun[] runs = [.. names.Distinct(StringComparer.Ordinal).Select(n => state.Run(n)!)];
        string name = runs.Length == 1 ? runs[0].Name : $"{runs.Length}-runs";
        if (!await state.Reading.WaitAsync(TimeSpan.FromSeconds(10), context.RequestAborted)) return PageAnswers.Busy(context);
        try
        {
            context.Features.Get<IHttpResponseBodyFeature>()?.DisableBuffering();

            // An entry's last bytes are written when it is closed, and not as the others are; so few of them wait for nobody.
            if (context.Features.Get<IHttpBodyControlFeature>() is { } control) control.AllowSynchronousIO = true;
            context.Response.ContentType = "application/zip";
            context.Response.Headers.ContentDisposition = new Microsoft.Net.Http.Headers.ContentDispositionHeaderValue("attachment") { FileName = Plain(name) + ".zip", FileNameStar = name + ".zip" }.ToString();
            await Write(runs, context);
            return HttpResults.Empty;
        }
        finally
        {
            state.Reading.Release();
        }
    }

    private static async Task Write(IndexedRun[] runs, HttpContext context)
    {
        CancellationToken stop = context.RequestAborted;
        await using ZipArchive archive = await ZipArchive.CreateAsync(context.Response.Body, ZipArchiveMode.Create, leaveOpen: true, entryNameEncoding: null, stop);
        foreach ((IndexedRun run, string file) in runs.SelectMany(r => r.Files.Keys.Select(f => (r, f))))
        {
            var found = new FileInfo(Path.Combine(run.Folder, file));
            if (found is not { Exists: true, LinkTarget: null }) continue;
            ZipArchiveEntry entry = archive.CreateEntry($"{run.Name}/{file}", CompressionLevel.Fastest);
            entry.LastWriteTime = found.LastWriteTimeUtc.Year is >= 1980 and <= 2107 ? new DateTimeOffset(found.LastWriteTimeUtc) : new DateTimeOffset(1980, 1, 1, 0, 0, 0, TimeSpan.Zero);
            await using Stream to = await entry.OpenAsync(stop);
            await using var from = new FileStream(found.FullName, new FileStreamOptions { Access = FileAccess.Read, Share = FileShare.ReadWrite | FileShare.Delete, Options = FileOptions.Asynchronous | FileOptions.SequentialScan });
            await from.CopyToAsync(to, stop);
        }
    }

    private static string Plain(string name) => new([.. name.Select(c => char.IsAsciiLetterOrDigit(c) || c is '-' or '_' or '.' ? c : '_')]);
}
