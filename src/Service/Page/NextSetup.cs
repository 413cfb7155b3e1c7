using System.Text.Json;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Plans;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Page;

/// <summary>A set-up as the page sends it.</summary>
internal sealed record SetupDocument(string? Top, string? Base, string? Cover, string? Operator, string? Note, Dictionary<string, double>? Factors)
{
    /// <summary>Of a run's.</summary>
    public static SetupDocument Of(RunSetup setup) => new(setup.Top, setup.Base, setup.Cover, setup.Operator, setup.Note, new(setup.Factors));

    /// <summary>As a run's.</summary>
    /// <param name="problems">Receives what a capture does not allow of it.</param>
    public RunSetup Checked(List<string> problems)
    {
        var options = new CaptureOptions { Port = "none", Top = Top ?? "", Base = Base ?? "", Cover = Cover ?? "", Operator = Operator ?? "", Note = Note ?? "", Factors = Factors ?? [] };
        problems.AddRange(CaptureOptionsValidator.Problems(options).Select(p => p.Text(null)));
        return options.Setup();
    }
}

/// <summary>What a plan says of the next run.</summary>
internal sealed record NextRow(string Plan, int Row, int Block, int Of, int Done, Dictionary<string, string> Says, string Words);

/// <summary>The set-up of the next run.</summary>
/// <param name="Setup">What was set.</param>
/// <param name="Plan">The row of a plan that it is for; null where none is followed or none is left.</param>
/// <param name="WillBe">What the run gets.</param>
internal sealed record NextDocument(SetupDocument Setup, NextRow? Plan, SetupDocument WillBe);

/// <summary>The set-up of the next run, as the page's users set it. It outlives the program for as long as the settings stay as they were when it was set, so that
/// a power cut changes no label, and a changed setting is no longer overruled.</summary>
internal sealed class NextSetup
{
    private const string FileName = "next-set-up.json";
    private readonly Lock _lock = new();
    private readonly PageCapture _capture;
    private readonly string _file;
    private readonly ILogger _logger;
    private RunSetup _setup;

    /// <summary>Begins with what was set before, if that still holds.</summary>
    public NextSetup(PageCapture capture, string library, ILogger logger)
    {
        (_capture, _logger) = (capture, logger);
        _file = Path.Combine(library, RunLibrary.OpenFolder, FileName);
        _setup = capture.Setup;
        if (Kept() is { } kept && capture.Orders.TryGive(new CaptureOrder.Next(kept))) _setup = kept;
    }

    /// <summary>How it stands.</summary>
    public NextDocument Document()
    {
        RunSetup setup;
        lock (_lock) setup = _setup;
        PlanView? view = _capture.Plan();
        NextRow? row = view?.Next is { } next ? Row(view.Progress, next) : null;
        RunSetup willBe = view?.Next?.In(setup) ?? setup;
        return new NextDocument(SetupDocument.Of(setup), row, SetupDocument.Of(willBe));
    }

    /// <summary>Sets it.</summary>
    /// <returns>False where the capture takes no orders.</returns>
    public bool TrySet(RunSetup setup)
    {
        lock (_lock)
        {
            if (!_capture.Orders.TryGive(new CaptureOrder.Next(setup))) return false;
            _setup = setup;
            Keep(setup);
            return true;
        }
    }

    private static NextRow Row(PlanProgress progress, PlanRow row) => new(
        progress.Sheet.Id, row.Row, row.Block, progress.Rows.Count, progress.Done, row.Setup.ToDictionary(s => s.Key, s => s.Value), Display.PlanStatusText.Row(progress.Sheet, row));

    private RunSetup? Kept()
    {
        try
        {
            if (!File.Exists(_file) || JsonSerializer.Deserialize<KeptSetup>(File.ReadAllBytes(_file), PageJson.Options) is not { } kept) return null;
            var problems = new List<string>();
            RunSetup next = kept.Next.Checked(problems);
            return problems.Count == 0 && IsSame(kept.Settings.Checked(problems), _capture.Setup) ? next : null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or JsonException)
        {
            _logger.LogWarning("The set-up of the next run as it was set last cannot be read ({Problem}); that of the settings holds", e.Message);
            return null;
        }
    }

    private void Keep(RunSetup setup)
    {
        try
        {
            string unfinished = _file + ".new";
            Directory.CreateDirectory(Path.GetDirectoryName(_file)!);
            File.WriteAllBytes(unfinished, JsonSerializer.SerializeToUtf8Bytes(new KeptSetup(SetupDocument.Of(setup), SetupDocument.Of(_capture.Setup)), PageJson.Options));
            File.Move(unfinished, _file, overwrite: true);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            _logger.LogWarning("The set-up of the next run holds, but not beyond the end of the program: {Problem}", e.Message);
        }
    }

    private static bool IsSame(RunSetup one, RunSetup other) =>
        one with { Factors = other.Factors } == other && one.Factors.OrderBy(f => f.Key, StringComparer.Ordinal).SequenceEqual(other.Factors.OrderBy(f => f.Key, StringComparer.Ordinal));

    private sealed record KeptSetup(SetupDocument Next, SetupDocument Settings);
}
