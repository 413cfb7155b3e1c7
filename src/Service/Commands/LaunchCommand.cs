using System.CommandLine;
using System.Text.Json;
using Acquire.Recording;
using Acquire.Results.Bodies;
using Acquire.Results.Launches;
using Acquire.Results.Losses;
using Acquire.Service.Bodies;
using Acquire.Service.Display;
using Acquire.Service.Plots;
using Acquire.Service.Reports;
using Acquire.Service.Runs;

namespace Acquire.Service.Commands;

/// <summary><c>acquire launch</c>: how bodies were brought up to speed, and whether one person or grip does it better.</summary>
internal sealed class LaunchCommand
{
    private readonly Surroundings _surroundings;
    private readonly Option<string> _by = new("--by") { HelpName = "KEY", Description = "What launches are grouped and compared by: operator, top, base, cover or a factor's name. [default: operator]" };
    private readonly Option<string> _rotor = new("--rotor") { HelpName = "FILE", Description = "The body's file (acquire rotor --help): gives the torque that sped it up." };
    private readonly RunSelection _selection = new(named: true);
    private readonly AnswerOptions _answers = new();

    private LaunchCommand(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("launch", "Tell how bodies were launched: peak speed, time to reach it, turns, pushes and torque; compare people or grips.");
        var launch = new LaunchCommand(surroundings);
        command.Options.Add(launch._by);
        command.Options.Add(launch._rotor);
        launch._selection.AddTo(command);
        launch._answers.AddTo(command);
        command.SetAction(launch.Run);
        HelpText.Attach(command,
        [
            "acquire launch 20270314T092653Z-oak-rim --rotor oak-rim.json",
            "acquire launch --where top=oak-rim --by operator --plot launches.png",
            "acquire launch --where top=oak-rim --by grip_no --json",
        ]);
        return command;
    }

    private int Run(ParseResult call)
    {
        if (_answers.Read(call, _surroundings, out string? problem) is not { } answers
            || _selection.Select(call, _surroundings, out problem) is not { } runs
            || By(call, runs, out problem) is not { } by)
            return _surroundings.Refuse("launch", problem!);
        if (runs.FirstOrDefault(r => !(r.Descriptor.Result.PeakRpm > 0)) is { } unknown)
            return _surroundings.Refuse("launch", $"{unknown.Name}: its peak speed is not known; leave it out");
        Rotor? rotor = null;
        if (call.GetValue(_rotor) is { } file)
        {
            RotorReading reading = RotorFile.Read(_surroundings.FullPath(file));
            foreach (string warning in reading.Warnings) _surroundings.Error.WriteLine("acquire launch: " + warning);
            if (reading.Rotor is null) return _surroundings.Refuse("launch", reading.Problems);
            rotor = reading.Rotor;
        }

        try
        {
            LaunchedRun[] launched = [.. runs.Select(r => LaunchedRun.Of(r, RunFilter.Value(r.Descriptor, by), rotor)).OrderBy(r => r.Group, Natural)];
            IReadOnlyList<LaunchGroup> groups = LaunchGroups.Of(
                [.. launched.GroupBy(r => r.Group).Select(g => (g.Key, (IReadOnlyList<(double, double)>)[.. g.Select(r => (r.Launch.PeakRpm, r.Launch.UPeakRpm))]))]);
            return Answer(new LaunchText(launched, by, groups), answers);
        }
        catch (RunFormatException e)
        {
            return _surroundings.Refuse("launch", e.Message);
        }
    }

    // Factors by their number, words by the alphabet, runs that do not say last.
    private static readonly Comparer<string> Natural = Comparer<string>.Create((a, b) =>
        (a.Length == 0) != (b.Length == 0) ? (a.Length == 0 ? 1 : -1)
        : double.TryParse(a, System.Globalization.CultureInfo.InvariantCulture, out double x) && double.TryParse(b, System.Globalization.CultureInfo.InvariantCulture, out double y) ? x.CompareTo(y)
        : string.CompareOrdinal(a, b));

    private string? By(ParseResult call, IReadOnlyList<RunData> runs, out string? problem)
    {
        problem = null;
        string asked = call.GetValue(_by) is { Length: > 0 } given ? given : "operator";
        RunDescriptor[] all = [.. runs.Select(r => r.Descriptor)];
        string? name = RunFilter.Name(asked, all);
        if (name is null)
            problem = "--by: " + RunFilter.NoKey(asked, all);
        return name;
    }

    private int Answer(LaunchText text, Answers answers)
    {
        if (answers.Json) JsonAnswer.Write(_surroundings.Out, writer => WriteJson(writer, text));
        else text.Write(_surroundings);
        return answers.WriteFiles(_surroundings, file => LaunchPlot.Write(file, text), file => Report(text).Write(file));
    }

    private static HtmlReport Report(LaunchText text)
    {
        var report = new HtmlReport(text.Title);
        foreach (string verdict in text.Verdicts()) report.Paragraph(verdict);
        LaunchPlot.AddTo(report, text);
        report.Section("Launches").Table(text.RunHeadings, text.RunRows());
        if (text.Groups.Count > 1) report.Section("By " + text.By).Table(text.GroupHeadings, text.GroupRows());
        foreach (string remark in text.Remarks()) report.Paragraph(remark);
        return report;
    }

    private static void WriteJson(Utf8JsonWriter writer, LaunchText text)
    {
        writer.WriteStartObject();
        writer.WriteString("by", text.By);
        writer.WriteStartArray("runs");
        foreach (LaunchedRun run in text.Runs) WriteJson(writer, run);
        writer.WriteEndArray();
        writer.WriteStartArray("groups");
        foreach (LaunchGroup group in text.Groups)
        {
            writer.WriteStartObject();
            writer.WriteString("name", group.Name);
            writer.WriteNumber("runs", group.Peaks.Count);
            writer.WriteNumber("meanPeakRpm", group.MeanRpm);
            writer.WriteNumber("lowRpm", group.LowRpm, orNull: true);
            writer.WriteNumber("highRpm", group.HighRpm, orNull: true);
            writer.WriteNumber("changePercent", group.Change?.Percent ?? double.NaN, orNull: true);
            writer.WriteNumber("lowPercent", group.Change?.LowPercent ?? double.NaN, orNull: true);
            writer.WriteNumber("highPercent", group.Change?.HighPercent ?? double.NaN, orNull: true);
            writer.WriteNumber("pValue", group.AdjustedP, orNull: true);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteEndObject();
    }

    private static void WriteJson(Utf8JsonWriter writer, LaunchedRun run)
    {
        writer.WriteStartObject();
        writer.WriteString("run", run.Run.Name);
        writer.WriteString("group", run.Group);
        writer.WriteNumber("peakRpm", run.Launch.PeakRpm, orNull: true);
        writer.WriteNumber("uPeakRpm", run.Launch.UPeakRpm, orNull: true);
        writer.WriteNumber("timeToPeakS", run.Launch.TimeS, orNull: true);
        writer.WriteNumber("uTimeToPeakS", run.Launch.UTimeS, orNull: true);
        writer.WriteNumber("turns", run.Launch.Speeds.Turns, orNull: true);
        if (run.Launch.Pushes is { } pushes) writer.WriteNumber("pushes", pushes);
        else writer.WriteNull("pushes");
        if (run.Rotor is not null)
        {
            WriteTorque(writer, "meanTorqueNm", "uMeanTorqueNm", run.MeanTorqueNm!.Value);
            WriteTorque(writer, "greatestTorqueNm", "uGreatestTorqueNm", run.GreatestTorqueNm!.Value);
        }

        writer.WriteEndObject();
    }

    private static void WriteTorque(Utf8JsonWriter writer, string name, string uName, Estimate torqueNm)
    {
        writer.WriteNumber(name, torqueNm.Value, orNull: true);
        writer.WriteNumber(uName, torqueNm.U, orNull: true);
    }
}
