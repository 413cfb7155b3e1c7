using System.CommandLine;
using System.Text.Json;
using Acquire.Recording;
using Acquire.Results.Comparison;
using Acquire.Results.Sweep;
using Acquire.Service.Display;
using Acquire.Service.Plots;
using Acquire.Service.Reports;
using Acquire.Service.Runs;

namespace Acquire.Service.Commands;

/// <summary><c>acquire sweep</c>: finds the best value of a numeric factor.</summary>
internal sealed class SweepCommand
{
    private readonly Surroundings _surroundings;
    private readonly Option<string> _factor = new("--factor") { HelpName = "NAME", Description = "The numeric factor, as the runs name it." };
    private readonly Option<string> _by = new("--by") { HelpName = "KEY", Description = "A curve for each value of this: top, base, cover, operator or another factor." };
    private readonly Option<string> _baseline = new("--baseline") { HelpName = "FILTER", Description = "Tell the gain over these runs: KEY=VALUE[,KEY=VALUE], or run folders parted by commas." };
    private readonly Option<string[]> _leaveOut = new("--leave-out") { HelpName = "RUN", Description = "A run that is not to count; may be given again." };
    private readonly SpeedRangeOptions _range = new();
    private readonly RunSelection _selection = new(named: false, leavesOutSpoilt: true);
    private readonly AnswerOptions _answers = new();

    private SweepCommand(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("sweep", "Find the best value of a numeric factor, with its interval and the values that tie with it.");
        new SweepCommand(surroundings).AddTo(command);
        HelpText.Attach(command,
        [
            "acquire sweep --factor clearance_mm",
            "acquire sweep --factor clearance_mm --by base --baseline cover=none --plot clearance.png",
            "acquire sweep --where top=oak-rim --factor rim_mass_g --from 1800 --to 400 --report rim.html",
        ]);
        return command;
    }

    private void AddTo(Command command)
    {
        foreach (Option option in (Option[])[_factor, _by, _baseline]) command.Options.Add(option);
        _range.AddTo(command);
        command.Options.Add(_leaveOut);
        _selection.AddTo(command);
        _answers.AddTo(command);
        command.SetAction(Run);
    }

    private int Run(ParseResult call)
    {
        if (call.GetValue(_factor) is not { Length: > 0 } asked)
            return _surroundings.Refuse("sweep", "--factor NAME is needed, such as --factor clearance_mm");
        if (_answers.Read(call, _surroundings, out string? problem) is not { } answers
            || _range.Read(call, out problem) is not { } range
            || _selection.Select(call, _surroundings, out problem) is not { } runs
            || Factor(asked, runs, out problem) is not { } factor
            || By(call, factor, runs, out problem) is not { } by
            || Baseline(call, out problem) is not { } baseline)
            return _surroundings.Refuse("sweep", problem!);
        string[] names = [.. (call.GetValue(_leaveOut) ?? []).Select(TimedRuns.Name)];
        if (TimedRuns.LeaveOut(names, runs.Select(TimedRuns.Of)) is { } wrong) return _surroundings.Refuse("sweep", wrong);
        TimedRun[] beside = [.. baseline.Where(r => !names.Contains(r.Name)).Select(TimedRuns.Of)];
        SweptRun[] swept = [.. runs.Where(r => !names.Contains(r.Name) && RunFilter.Factor(r.Descriptor, factor) is not null)
            .Select(r => new SweptRun(TimedRuns.Of(r), RunFilter.Factor(r.Descriptor, factor)!.Value, by.Length > 0 ? RunFilter.Value(r.Descriptor, by) : ""))];
        return FactorSweep.Of(swept, beside, range.FromRpm, range.ToRpm, factor, by, out problem) is { } result
            ? Answer(new SweepText(result with { LeftOut = [.. _selection.LeftOut, .. result.LeftOut] }, factor, by, call.GetValue(_baseline) ?? ""), answers) : _surroundings.Refuse("sweep", problem!);
    }

    private static string? Factor(string asked, IReadOnlyList<RunData> runs, out string? problem)
    {
        RunDescriptor[] all = [.. runs.Select(r => r.Descriptor)];
        string[] factors = [.. all.SelectMany(r => r.Setup.Factors.Keys).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)];
        string? name = Array.Find(factors, f => f == asked) ?? Array.Find(factors, f => f.Equals(asked, StringComparison.OrdinalIgnoreCase));
        problem = name is not null ? null
            : factors.Length == 0 ? $"--factor: none of the {runs.Count} runs has a numeric factor; acquire edit RUN --factor {asked}=4 gives it one"
            : $"--factor: there is no factor '{asked}'" + (NearestName.To(asked, factors) is { } near ? $"; did you mean {near}?" : $"; there are {string.Join(", ", factors)}");
        return name;
    }

    // Empty where runs are not parted.
    private string? By(ParseResult call, string factor, IReadOnlyList<RunData> runs, out string? problem)
    {
        problem = null;
        if (call.GetValue(_by) is not { Length: > 0 } asked) return "";
        RunDescriptor[] all = [.. runs.Select(r => r.Descriptor)];
        string? name = RunFilter.Name(asked, all);
        problem = name is null ? "--by: " + RunFilter.NoKey(asked, all)
            : name == factor ? $"--by: '{asked}' is the factor itself; allowed is another key" : null;
        return problem is null ? name : null;
    }

    private IReadOnlyList<RunData>? Baseline(ParseResult call, out string? problem)
    {
        problem = null;
        if (call.GetValue(_baseline) is not { Length: > 0 } filter) return [];
        if (_selection.Select(filter, call, _surroundings, out problem) is { } runs) return runs;
        problem = TimedRuns.Of("--baseline", problem!);
        return null;
    }

    private int Answer(SweepText text, Answers answers)
    {
        if (answers.Json) JsonAnswer.Write(_surroundings.Out, writer => WriteJson(writer, text));
        else text.Write(_surroundings);
        return answers.WriteFiles(_surroundings, file => SweepPlot.Write(file, text), file => Report(text).Write(file));
    }

    private static HtmlReport Report(SweepText text)
    {
        var report = new HtmlReport(text.Title);
        foreach (string verdict in text.Verdicts()) report.Paragraph(verdict);
        SweepPlot.AddTo(report, text);
        report.Section("Values").Table(text.Headings, text.Rows());
        foreach ((string heading, IReadOnlyList<string> lines) in text.Remarks())
        {
            report.Section(heading.TrimEnd(':'));
            foreach (string line in lines) report.Paragraph(line);
        }

        return report.Section("Runs").Table(["run", ">" + text.Factor], text.Result.Curves.SelectMany(c => c.Points).Select(p => (string[])[p.Run, SweepText.Value(p.Value)]));
    }

    private static void WriteJson(Utf8JsonWriter writer, SweepText text)
    {
        writer.WriteStartObject();
        writer.WriteString("factor", text.Factor);
        writer.WriteNumber("fromRpm", text.Result.FromRpm);
        writer.WriteNumber("toRpm", text.Result.ToRpm);
        writer.WriteStartArray("curves");
        foreach (FactorCurve curve in text.Result.Curves) WriteJson(writer, curve);
        writer.WriteEndArray();
        if (text.Result.Baseline.Count > 0) writer.WriteNumber("baselineS", text.Result.BaselineS);
        CompareJson.Names(writer, "warnings", text.Result.Warnings);
        CompareJson.Reasons(writer, "leftOut", text.Result.LeftOut);
        writer.WriteEndObject();
    }

    private static void WriteJson(Utf8JsonWriter writer, FactorCurve curve)
    {
        writer.WriteStartObject();
        writer.WriteString("category", curve.Category);
        writer.WriteNumber("best", curve.Best);
        writer.WriteNumber("bestLow", curve.BestLow, orNull: true);
        writer.WriteNumber("bestHigh", curve.BestHigh, orNull: true);
        writer.WriteBoolean("bestMayLieOutside", curve.ReachesEdge);
        writer.WriteString("model", curve.Model);
        writer.WriteStartArray("ties");
        foreach (FactorLevel level in curve.Levels.Where(l => l.MayBeBest)) writer.WriteNumberValue(level.Value);
        writer.WriteEndArray();
        writer.WriteStartArray("levels");
        foreach (FactorLevel level in curve.Levels)
        {
            writer.WriteStartObject();
            writer.WriteNumber("value", level.Value);
            writer.WriteNumber("runs", level.Runs);
            writer.WriteNumber("meanS", level.MeanS);
            writer.WriteNumber("lowS", level.LowS, orNull: true);
            writer.WriteNumber("highS", level.HighS, orNull: true);
            if (level.Gain is not null) CompareJson.Interval(writer, level.Gain);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteEndObject();
    }
}
