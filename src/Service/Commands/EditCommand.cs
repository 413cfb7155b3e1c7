using System.CommandLine;
using System.Globalization;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Reports;
using Acquire.Service.Runs;

namespace Acquire.Service.Commands;

/// <summary><c>acquire edit</c>: corrects what a finished run says of its set-up, renames, deletes and restores it.</summary>
internal sealed class EditCommand
{
    private static readonly string[] Texts = ["--top", "--base", "--cover", "--operator", "--note"];
    internal const int LongestReason = 500;
    private readonly Surroundings _surroundings;
    private readonly Argument<string> _run = new("run") { HelpName = "RUN", Description = "The run's folder, or its name in the library; with --restore its name in the trash." };
    private readonly LibraryOption _library = new();
    private readonly Dictionary<CaptureSetting, Option<string>> _texts = [];
    private readonly Option<string[]> _factors = new("--factor") { HelpName = "name=value", Description = "A numeric factor of the set-up, new or with another value; may be given again." };
    private readonly Option<string[]> _removed = new("--remove-factor") { HelpName = "NAME", Description = "A factor to take away; may be given again." };
    private readonly Option<string> _spoilt = new("--spoilt") { HelpName = "REASON", Description = "Mark the run as spoilt (a failed launch, a knock): it is kept, left out of compare, sweep, best and plan, and a plan's row comes up again." };
    private readonly Option<bool> _notSpoilt = new("--not-spoilt") { Description = "Take that mark away: the run counts." };
    private readonly Option<string> _rename = new("--rename") { HelpName = "SLUG", Description = "What is to follow the time in the folder's name: lower-case letters, digits and hyphens." };
    private readonly Option<bool> _delete = new("--delete") { Description = "Move the run to the library's folder .trash." };
    private readonly Option<bool> _restore = new("--restore") { Description = "Bring a deleted run back." };

    private EditCommand(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command(
            "edit",
            "Correct a run's set-up, mark it spoilt, rename, delete, restore; measured data stay.");
        new EditCommand(surroundings).AddTo(command);
        HelpText.Attach(command,
        [
            "acquire edit 20270314T092653Z-oak-rim --cover jar --factor rim_mass_g=12.5 --remove-factor dish_radius_mm",
            "acquire edit 20270314T092653Z-oak-rim --top beech --rename beech",
            "acquire edit 20270314T092653Z-oak-rim --spoilt \"the hand slipped\"",
            "acquire edit 20270314T092653Z-oak-rim --delete",
            "acquire edit 20270314T092653Z-oak-rim --restore",
        ]);
        return command;
    }

    private void AddTo(Command command)
    {
        command.Arguments.Add(_run);
        foreach (CaptureSetting setting in CaptureSettings.All.Where(s => Texts.Contains(s.Option)))
        {
            _texts[setting] = new Option<string>(setting.Option) { HelpName = setting.Argument, Description = setting.Help + " \"\" for nothing." };
            command.Options.Add(_texts[setting]);
        }

        foreach (Option option in (Option[])[_factors, _removed, _spoilt, _notSpoilt, _rename, _delete, _restore, _library.Option])
            command.Options.Add(option);
        command.SetAction(Run);
    }

    private int Run(ParseResult call)
    {
        if (_library.Folder(call, _surroundings, out string? problem) is not { } library) return _surroundings.Refuse("edit", problem!);
        RunChanges changes = Changes(call, out List<string> problems);
        bool any = changes.Texts.Count + changes.Factors.Count > 0 || changes.Slug is not null || changes.Spoilt is not null;
        int ways = (any ? 1 : 0) + (call.GetValue(_delete) ? 1 : 0) + (call.GetValue(_restore) ? 1 : 0);
        if (ways != 1 && problems.Count == 0)
            problems.Add((ways == 0 ? "nothing to do was given" : "too much was given") + "; allowed are changes of the set-up, --spoilt, --not-spoilt and --rename, or --delete alone, or --restore alone");
        if (problems.Count > 0) return _surroundings.Refuse("edit", problems);
        string run = call.GetRequiredValue(_run);
        try
        {
            if (call.GetValue(_restore)) return Say(RunTrash.Restore(library, TrashName(run)));
            if (LibraryOption.Run(run, library, _surroundings, out problem) is not { } folder) return _surroundings.Refuse("edit", problem!);
            if (Misplaced(folder, library) is { } wrong) return _surroundings.Refuse("edit", wrong);
            return call.GetValue(_delete) ? Say(RunTrash.Delete(folder, _surroundings.Time.GetUtcNow())) : Change(folder, changes);
        }
        catch (Exception e) when (e is RunEditException or RunFormatException)
        {
            return _surroundings.Refuse("edit", e.Message);
        }
    }

    private static string? Misplaced(string folder, string library)
    {
        if (Path.GetFileName(Path.GetDirectoryName(folder)) == RunTrash.FolderName) return $"{folder} was deleted: --restore brings it back";
        return folder != Path.TrimEndingDirectorySeparator(library) && LibraryOption.IsRun(folder, library) && !Path.GetFileName(folder).StartsWith('.')
            ? null
            : $"{folder} is not the folder of a run";
    }

    private static string TrashName(string run) => Path.GetFileName(Path.TrimEndingDirectorySeparator(run));

    private int Change(string folder, RunChanges changes)
    {
        (string now, IReadOnlyList<RunEdit> made) = RunEditor.Change(folder, changes, _surroundings.Time.GetUtcNow());
        foreach (RunEdit edit in made) _surroundings.Error.WriteLine($"{edit.What}: {Quoted(edit.From)} → {Quoted(edit.To)}");
        if (made.Count == 0) _surroundings.Error.WriteLine("Nothing to change: all of it is so already.");
        if (made.Count > 0 && File.Exists(Path.Combine(now, RunCompanions.Report)) && RunReport.TryWrite(now) is { } without)
            _surroundings.Error.WriteLine("acquire edit: " + without);
        return Say(now);
    }

    private static string Quoted(string? text) => text is null ? "none" : $"'{text}'";

    private int Say(string folder)
    {
        _surroundings.Out.WriteLine(folder);
        _surroundings.Out.Flush();
        return ExitCode.Done;
    }

    /// <summary>What the call asks for, held against what a capture allows.</summary>
    private RunChanges Changes(ParseResult call, out List<string> problems)
    {
        problems = [];
        var options = new CaptureOptions { Port = "none" };
        var texts = new Dictionary<string, string>();
        foreach ((CaptureSetting setting, Option<string> option) in _texts)
        {
            if (call.GetValue(option) is not { } text) continue;
            setting.TryRead(text, options);
            texts[setting.Key.ToLowerInvariant()] = text;
        }

        var factors = new Dictionary<string, double?>();
        foreach (string given in call.GetValue(_factors) ?? [])
        {
            if (CaptureSettings.SplitFactor(given) is not { } split
                || !double.TryParse(split.Value, NumberStyles.Float, CultureInfo.InvariantCulture, out double value))
                problems.Add($"--factor: '{given}' on the command line; allowed is name=number");
            else if (!factors.TryAdd(split.Name, value))
                problems.Add($"--factor: '{split.Name}' on the command line is given twice; allowed is one value a name");
            else
                options.Factors[split.Name] = value;
        }

        problems.AddRange(CaptureOptionsValidator.Problems(options).Select(p => p.Text("on the command line")));
        foreach (string name in call.GetValue(_removed) ?? [])
        {
            if (!factors.TryAdd(name, null))
                problems.Add($"--remove-factor: '{name}' on the command line is given twice or set as well; allowed is one change a name");
        }

        return new RunChanges { Texts = texts, Factors = factors, Slug = call.GetValue(_rename), Spoilt = Spoilt(call, problems) };
    }

    /// <summary>Whether a text can be why a run is spoilt.</summary>
    internal static bool IsReason(string text) => !string.IsNullOrWhiteSpace(text) && text.Length <= LongestReason && !text.Any(char.IsControl);

    private string? Spoilt(ParseResult call, List<string> problems)
    {
        string? reason = call.GetValue(_spoilt);
        if (reason is not null && call.GetValue(_notSpoilt)) problems.Add("--spoilt and --not-spoilt are given at once; allowed is one of them");
        if (reason is not null && !IsReason(reason))
            problems.Add($"--spoilt: '{reason}' on the command line; allowed is a reason in one line of text, 1 to {LongestReason} characters");
        return reason?.Trim() ?? (call.GetValue(_notSpoilt) ? "" : null);
    }
}
