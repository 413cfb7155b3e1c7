using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Commands;
using Acquire.Service.Reports;
using Acquire.Service.Runs;
using Microsoft.AspNetCore.Http;
using HttpResults = Microsoft.AspNetCore.Http.Results;

namespace Acquire.Service.Page;

/// <summary>Changes of finished runs: the same edits, entered in the run in the same way, as <c>acquire edit</c> makes.</summary>
internal static class RunChanging
{
    /// <summary>Changes a run.</summary>
    public static Task<IResult> Change(string name, RunPatch patch, PageState state, CancellationToken stop)
    {
        if (state.Run(name) is not { } run) return Task.FromResult(PageAnswers.NoRun(name));
        var problems = new List<string>();
        RunChanges changes = Changes(patch, problems);
        if (problems.Count > 0) return Task.FromResult(PageAnswers.Wrong(problems));
        return Edit(state, () =>
        {
            (string folder, IReadOnlyList<RunEdit> made) = RunEditor.Change(run.Folder, changes, state.Time.GetUtcNow());
            if (made.Count > 0 && File.Exists(Path.Combine(folder, RunCompanions.Report))) Redraw(folder, state);
            state.Index.Look();
            return RunEndpoints.One(Path.GetFileName(folder), state);
        }, stop);
    }

    /// <summary>Moves a run into the trash.</summary>
    public static Task<IResult> Delete(string name, PageState state, CancellationToken stop) => state.Run(name) is not { } run
        ? Task.FromResult(PageAnswers.NoRun(name))
        : Edit(state, () =>
        {
            RunTrash.Delete(run.Folder, state.Time.GetUtcNow());
            state.Index.Look();
            return HttpResults.NoContent();
        }, stop);

    /// <summary>Brings a run back.</summary>
    public static Task<IResult> Restore(string name, PageState state, CancellationToken stop)
    {
        string library = state.Settings.Library;
        if (!RunTrash.List(library).Contains(name, StringComparer.Ordinal)) return Task.FromResult(PageAnswers.None($"There is no run '{PageAnswers.Shown(name)}' in the trash."));
        return Edit(state, () =>
        {
            string folder = RunTrash.Restore(library, name);
            state.Index.Look();
            return HttpResults.Ok(new NameDocument(Path.GetFileName(folder)));
        }, stop);
    }

    private static async Task<IResult> Edit(PageState state, Func<IResult> edit, CancellationToken stop)
    {
        await state.Editing.WaitAsync(stop);
        try
        {
            return await Task.Run(edit, CancellationToken.None);
        }
        catch (Exception e) when (e is RunEditException or RunFormatException)
        {
            return PageAnswers.Problem(StatusCodes.Status409Conflict, "The run cannot be changed like this.", [e.Message]);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return PageAnswers.Problem(StatusCodes.Status500InternalServerError, "The disk did not take it.", [e.Message]);
        }
        finally
        {
            state.Editing.Release();
        }
    }

    private static RunChanges Changes(RunPatch patch, List<string> problems)
    {
        var options = new CaptureOptions { Port = "none", Top = patch.Top ?? "", Base = patch.Base ?? "", Cover = patch.Cover ?? "", Operator = patch.Operator ?? "", Note = patch.Note ?? "" };
        foreach ((string name, double? value) in patch.Factors ?? []) options.Factors[name] = value ?? 0;
        problems.AddRange(CaptureOptionsValidator.Problems(options).Select(p => p.Text(null)));
        if (patch.Spoilt is { Length: > 0 } reason && !EditCommand.IsReason(reason)) problems.Add($"spoilt: allowed is a reason in one line of text, 1 to {EditCommand.LongestReason} characters, or nothing where the run is to count");
        var texts = new Dictionary<string, string>();
        foreach ((string key, string? text) in new[] { ("top", patch.Top), ("base", patch.Base), ("cover", patch.Cover), ("operator", patch.Operator), ("note", patch.Note) })
        {
            if (text is not null) texts[key] = text;
        }

        if (texts.Count == 0 && patch.Factors is not { Count: > 0 } && patch.Spoilt is null && patch.Rename is null) problems.Add("nothing to change was given; allowed are top, base, cover, operator, note, factors, spoilt and rename");
        return new RunChanges { Texts = texts, Factors = patch.Factors ?? [], Spoilt = patch.Spoilt?.Trim(), Slug = patch.Rename };
    }

    // Drawn anew beside everything else; a page that cannot be drawn is no reason to undo the edit.
    private static void Redraw(string folder, PageState state)
    {
        if (state.Capture is { } capture) capture.Redraw(folder);
        else _ = Task.Run(() => ReportProcess.Write(folder, CancellationToken.None)).ContinueWith(t => t.Exception, TaskContinuationOptions.OnlyOnFaulted);
    }
}
