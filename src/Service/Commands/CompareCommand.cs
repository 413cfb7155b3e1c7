using System.CommandLine;
using Acquire.Results.Comparison;
using Acquire.Service.Display;
using Acquire.Service.Plots;
using Acquire.Service.Reports;
using Acquire.Service.Runs;

namespace Acquire.Service.Commands;

/// <summary><c>acquire compare</c>: says whether a change helped, by how much, at which speeds and with what confidence.</summary>
internal sealed class CompareCommand
{
    private readonly Surroundings _surroundings;
    private readonly Dictionary<string, TimedRun> _timed = [];
    private readonly Option<string> _baseline = new("--baseline") { HelpName = "FILTER", Description = "What is compared with: KEY=VALUE[,KEY=VALUE] over top, base, cover, operator and factor names, or run folders parted by commas." };
    private readonly Option<string[]> _variants = new("--variant") { HelpName = "FILTER", Description = "What is compared with it: one or more, each a variant of its own.", AllowMultipleArgumentsPerToken = true };
    private readonly Option<string> _start = new("--start") { HelpName = "RPM", Description = "Speed at which the whole spin begins. [default: the median of the runs' highest]" };
    private readonly Option<string[]> _leaveOut = new("--leave-out") { HelpName = "RUN", Description = "A run that is not to count; may be given again." };
    private readonly SpeedRangeOptions _range = new();
    private readonly RunSelection _selection = new(named: false, leavesOutSpoilt: true);
    private readonly AnswerOptions _answers = new();

    private CompareCommand(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("compare", "Say whether a change helped: decay time of variants beside a baseline, over all, by speed and for the whole spin.");
        new CompareCommand(surroundings).AddTo(command);
        HelpText.Attach(command,
        [
            "acquire compare --baseline cover=none --variant cover=ring",
            "acquire compare --baseline cover=none --variant clearance_mm=4 clearance_mm=6 --from 1800 --to 400 --plot cover.png",
            "acquire compare --where top=oak-rim --since 2027-03-01 --baseline base=glass --variant base=steel --report base.html",
        ]);
        return command;
    }

    private void AddTo(Command command)
    {
        foreach (Option option in (Option[])[_baseline, _variants]) command.Options.Add(option);
        _range.AddTo(command);
        command.Options.Add(_start);
        command.Options.Add(_leaveOut);
        _selection.AddTo(command);
        _answers.AddTo(command);
        command.SetAction(Run);
    }

    private int Run(ParseResult call)
    {
        if (call.GetValue(_baseline) is not { Length: > 0 } baselineFilter || call.GetValue(_variants) is not { Length: > 0 } filters)
            return _surroundings.Refuse("compare", "--baseline FILTER and at least one --variant FILTER are needed, such as --baseline cover=none --variant cover=ring");
        if (_answers.Read(call, _surroundings, out string? problem) is not { } answers
            || _range.Read(call, out problem) is not { } range
            || Start(call, range, out problem) is not { } start
            || Group(baselineFilter, "--baseline", call, out problem) is not { } baseline
            || Variants(filters, call, out problem) is not { } variants
            || !Apart(baseline, variants, out problem)
            || !LeaveOut(call, ref baseline, ref variants, out problem))
            return _surroundings.Refuse("compare", problem!);
        (string, string)[] spoilt = [.. _selection.LeftOut]; // of the groups; the library's others are no part of the answer
        TimedRun[] library = [.. (_selection.Select(call, _surroundings, out _) ?? []).Select(Timed).Where(r => !LeftOut(call).Contains(r.Name))];
        var comparing = new Comparing(range.FromRpm, range.ToRpm, double.IsNaN(start) ? null : start, library);
        return comparing.Compare(baseline, variants, out problem) is { } result
            ? Answer(new CompareText(result with { LeftOut = [.. spoilt, .. result.LeftOut] }, baselineFilter), answers) : _surroundings.Refuse("compare", problem!);
    }

    private int Answer(CompareText text, Answers answers)
    {
        if (answers.Json) JsonAnswer.Write(_surroundings.Out, writer => CompareJson.Write(writer, text.Result));
        else text.Write(_surroundings);
        return answers.WriteFiles(_surroundings, file => ComparePlot.Write(file, text.Result), file => Report(text).Write(file));
    }

    private static HtmlReport Report(CompareText text)
    {
        var report = new HtmlReport(text.Title);
        foreach (string verdict in text.Verdicts()) report.Paragraph(verdict);
        ComparePlot.AddTo(report, text.Result);
        report.Section("Change of the decay time").Table(CompareText.VariantHeadings, text.VariantRows());
        report.Section("By band").Table(text.BandHeadings, text.BandRows());
        foreach ((string heading, IReadOnlyList<string> lines) in text.Remarks())
        {
            report.Section(heading.TrimEnd(':'));
            foreach (string line in lines) report.Paragraph(line);
        }

        report.Section("Runs").Table(["group", "run"],
        [
            .. text.Result.Baseline.Select(r => (string[])["baseline " + text.BaselineName, r.Name]),
            .. text.Result.Variants.SelectMany(v => v.Runs.Select(r => (string[])[v.Name, r.Name])),
        ]);
        return report;
    }

    // No number stands for the start that the runs themselves have.
    private double? Start(ParseResult call, SpeedRange range, out string? problem)
    {
        if (SpeedRangeOptions.Speed(_start.Name, call.GetValue(_start), double.NaN, out problem) is not { } start) return null;
        if (!(start <= range.ToRpm)) return start;
        problem = $"--start: {ChangeWords.Rpm(start)} rpm is not above --to {ChangeWords.Rpm(range.ToRpm)}";
        return null;
    }

    private RunGroup? Group(string filter, string option, ParseResult call, out string? problem)
    {
        if (_selection.Select(filter, call, _surroundings, out problem) is { } runs) return new RunGroup(filter, [.. runs.Select(Timed)]);
        problem = TimedRuns.Of(option, problem!);
        return null;
    }

    // A run's loss law takes a moment to fit; a run can be of the baseline and of the library.
    private TimedRun Timed(RunData run) => _timed.TryGetValue(run.Folder, out TimedRun? timed) ? timed : _timed[run.Folder] = TimedRuns.Of(run);

    private List<RunGroup>? Variants(string[] filters, ParseResult call, out string? problem)
    {
        problem = null;
        var groups = new List<RunGroup>();
        foreach (string filter in filters)
        {
            if (groups.Any(g => g.Name == filter)) problem = $"--variant: {filter} is given twice";
            if (problem is not null || Group(filter, "--variant", call, out problem) is not { } group) return null;
            groups.Add(group);
        }

        return groups;
    }

    private static bool Apart(RunGroup baseline, List<RunGroup> variants, out string? problem)
    {
        foreach (RunGroup variant in variants)
        {
            string[] both = [.. variant.Runs.Select(r => r.Name).Intersect(baseline.Runs.Select(r => r.Name))];
            if (both.Length == 0) continue;
            problem = $"--variant {variant.Name} and --baseline {baseline.Name} have {both.Length} {(both.Length == 1 ? "run" : "runs")} in common, such as {both[0]}; a run can be in one of them only";
            return false;
        }

        problem = null;
        return true;
    }

    private HashSet<string> LeftOut(ParseResult call) => [.. (call.GetValue(_leaveOut) ?? []).Select(TimedRuns.Name)];

    private bool LeaveOut(ParseResult call, ref RunGroup baseline, ref List<RunGroup> variants, out string? problem)
    {
        HashSet<string> names = LeftOut(call);
        problem = TimedRuns.LeaveOut([.. names], variants.Append(baseline).SelectMany(g => g.Runs));
        RunGroup Without(RunGroup group) => group with { Runs = [.. group.Runs.Where(r => !names.Contains(r.Name))] };
        (baseline, variants) = (Without(baseline), [.. variants.Select(Without)]);
        if (problem is null && variants.Append(baseline).FirstOrDefault(g => g.Runs.Count == 0) is { } empty)
            problem = $"--leave-out: no run of {empty.Name} is left";
        return problem is null;
    }
}
