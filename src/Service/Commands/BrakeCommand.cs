using System.CommandLine;
using System.Text.Json;
using Acquire.Recording;
using Acquire.Results.Braking;
using Acquire.Service.Braking;
using Acquire.Service.Display;
using Acquire.Service.Plots;
using Acquire.Service.Reports;
using Acquire.Service.Runs;

namespace Acquire.Service.Commands;

/// <summary><c>acquire brake</c>: what bodies or covers brake on a motor bench, and from what speed on one brakes less than another.</summary>
internal sealed class BrakeCommand
{
    private const double RadPerSPerRpm = Math.PI / 30;

    private readonly Surroundings _surroundings;
    private readonly Argument<string[]> _files = new("file") { HelpName = "FILE", Description = "Sheets of readings (csv): a line for each steady speed, with power, or volts and amps. A configuration is told by a column, or is a file of its own.", Arity = ArgumentArity.ZeroOrMore };
    private readonly Option<string> _baseline = new("--baseline") { HelpName = "BARE", Description = "The bare motor: its sheet, or the name of its configuration in FILE." };
    private readonly Option<string> _against = new("--against") { HelpName = "NAME", Description = "The configuration that the others are compared with. [default: the first]" };
    private readonly Option<string> _speedColumn = Column("--speed-column", "speeds", nameof(BenchColumns.Speed));
    private readonly Option<string> _powerColumn = Column("--power-column", "power into the motor", nameof(BenchColumns.Power));
    private readonly Option<string> _voltsColumn = Column("--volts-column", "volts at the motor", nameof(BenchColumns.Volts));
    private readonly Option<string> _ampsColumn = Column("--amps-column", "current", nameof(BenchColumns.Amps));
    private readonly Option<string> _configurationColumn = Column("--configuration-column", "what was turned", nameof(BenchColumns.Configuration));
    private readonly Option<string> _speedUnit = Unit("--speed-unit", "speeds", BenchColumns.SpeedUnits.Select(u => u.Name));
    private readonly Option<string> _powerUnit = Unit("--power-unit", "power", BenchColumns.PowerUnits.Select(u => u.Name));
    private readonly Option<string> _currentUnit = Unit("--current-unit", "currents", BenchColumns.CurrentUnits.Select(u => u.Name));
    private readonly NumberOption _winding = new("--winding-ohm", "R", "Resistance of the motor's winding with its leads, warm: takes off the loss R I² of every reading, which grows with the load. Needs amps. [default: nothing taken off]", 0, 1e4, "ohm");
    private readonly Option<bool> _noHeader = new("--no-header") { Description = "The first line is no line of names." };
    private readonly Option<bool> _decimalComma = new("--decimal-comma") { Description = "Numbers have a decimal comma." };
    private readonly Option<string> _template = new("--template") { HelpName = "FILE", Description = "Write a sheet to fill in, and do nothing else." };
    private readonly AnswerOptions _answers = new();

    private BrakeCommand(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("brake", "Tell from a motor bench what bodies or covers brake beyond the bare motor: torque against speed, and the speed from which one brakes less than another.");
        new BrakeCommand(surroundings).AddTo(command);
        HelpText.Attach(command,
        [
            "acquire brake --template bench.csv",
            "acquire brake bench.csv --baseline bare --plot torque.png",
            "acquire brake open.csv cover.csv --baseline bare.csv --speed-column n --speed-unit Hz --power-column P --power-unit mW --report bench.html",
        ],
        cautions: BrakeText.Cautions);
        return command;
    }

    private static Option<string> Column(string option, string of, string what) =>
        new(option) { HelpName = "C", Description = $"The column of {of}: its name, or its number from 1. [default: {string.Join(" or ", BenchColumns.Usual[what])}]" };

    private static Option<string> Unit(string option, string of, IEnumerable<string> units) =>
        new(option) { HelpName = "U", Description = $"The unit of {of}: {string.Join(", ", units)}. [default: {units.First()}]" };

    private void AddTo(Command command)
    {
        command.Arguments.Add(_files);
        Option[] options =
        [
            _baseline, _against, _speedColumn, _powerColumn, _voltsColumn, _ampsColumn, _configurationColumn,
            _speedUnit, _powerUnit, _currentUnit, _winding.Option, _noHeader, _decimalComma, _template,
        ];
        foreach (Option option in options) command.Options.Add(option);
        _answers.AddTo(command);
        command.SetAction(Run);
    }

    private int Run(ParseResult call)
    {
        string[] files = [.. (call.GetValue(_files) ?? []).Select(_surroundings.FullPath)];
        if (call.GetValue(_template) is { } template) return WriteTemplate(_surroundings.FullPath(template), files.Length);
        string? baseline = call.GetValue(_baseline);
        if (files.Length == 0 || string.IsNullOrEmpty(baseline))
            return _surroundings.Refuse("brake", "FILE and --baseline BARE are needed, such as acquire brake bench.csv --baseline bare; --template FILE writes a sheet to fill in");
        if (_answers.Read(call, _surroundings, out string? wrong) is not { } answers) return _surroundings.Refuse("brake", wrong!);
        var problems = new List<string>();
        BenchColumns? columns = Columns(call, problems);
        double ohm = _winding.Read(call, problems) ?? 0;
        problems.AddRange(files.Where(f => !File.Exists(f)).Select(f => $"{f}: found {(Directory.Exists(f) ? "a folder" : "no file")}, expected a sheet of readings"));
        if (columns is null || problems.Count > 0) return _surroundings.Refuse("brake", problems);
        try
        {
            var order = new BenchOrder(files, baseline, _surroundings.FullPath(baseline), call.GetValue(_against), ohm);
            return BenchFiles.Read(order, columns, out string? problem) is { } bench ? Answer(bench, answers) : _surroundings.Refuse("brake", problem!);
        }
        catch (RunFormatException e)
        {
            return _surroundings.Refuse("brake", e.Message);
        }
    }

    private int WriteTemplate(string file, int others)
    {
        if (others > 0) return _surroundings.Refuse("brake", "--template writes a sheet and reads none: no FILE beside it");
        if (Path.Exists(file)) return _surroundings.Refuse("brake", $"--template: '{file}' is there already; allowed is a name that is free");
        if (!Directory.Exists(Path.GetDirectoryName(file))) return _surroundings.Refuse("brake", $"--template: there is no folder '{Path.GetDirectoryName(file)}'");
        File.WriteAllText(file, BenchTemplate.Text());
        _surroundings.Out.WriteLine(file);
        _surroundings.Out.Flush();
        return ExitCode.Done;
    }

    private BenchColumns? Columns(ParseResult call, List<string> problems)
    {
        double speed = Chosen(call, _speedUnit, BenchColumns.SpeedUnits, problems);
        double power = Chosen(call, _powerUnit, BenchColumns.PowerUnits, problems);
        double current = Chosen(call, _currentUnit, BenchColumns.CurrentUnits, problems);
        return problems.Count > 0 ? null : new BenchColumns(
            call.GetValue(_speedColumn), call.GetValue(_powerColumn), call.GetValue(_voltsColumn), call.GetValue(_ampsColumn), call.GetValue(_configurationColumn),
            speed, power, current, !call.GetValue(_noHeader), call.GetValue(_decimalComma));
    }

    private static double Chosen(ParseResult call, Option<string> option, (string Name, double Value)[] units, List<string> problems)
    {
        if (call.GetValue(option) is not { } text) return units[0].Value;
        int at = Array.FindIndex(units, u => u.Name.Equals(text, StringComparison.Ordinal));
        if (at < 0) at = Array.FindIndex(units, u => u.Name.Equals(text, StringComparison.OrdinalIgnoreCase));
        if (at >= 0) return units[at].Value;
        problems.Add($"{option.Name}: '{text}' on the command line; allowed is {string.Join(", ", units.Select(u => u.Name))}");
        return double.NaN;
    }

    private int Answer(BrakeText text, Answers answers)
    {
        foreach (string note in text.Notes) _surroundings.Error.WriteLine("acquire brake: " + note);
        if (answers.Json) JsonAnswer.Write(_surroundings.Out, writer => WriteJson(writer, text));
        else text.Write(_surroundings);
        return answers.WriteFiles(_surroundings, file => BrakePlot.Write(file, text), file => Report(text).Write(file));
    }

    private static HtmlReport Report(BrakeText text)
    {
        var report = new HtmlReport(BrakeText.Title);
        foreach (string verdict in text.Verdicts()) report.Paragraph(verdict);
        BrakePlot.AddTo(report, text);
        report.Section("Torque").Table(text.TorqueHeadings, text.TorqueRows());
        report.Section("Readings").Table(BrakeText.ReadingHeadings, text.ReadingRows());
        foreach ((string heading, IReadOnlyList<string> lines) in text.Remarks())
        {
            report.Section(heading.TrimEnd(':'));
            foreach (string line in lines) report.Paragraph(line);
        }

        return report;
    }

    private static void WriteJson(Utf8JsonWriter writer, BrakeText text)
    {
        writer.WriteStartObject();
        writer.WriteStartArray("configurations");
        foreach (BrakeCurve curve in text.Bench.Curves)
        {
            BrakeComparison? told = text.Bench.Comparisons.FirstOrDefault(c => c.Second == curve);
            bool isBetter = told?.Verdict == BrakeVerdict.LessAtSpeed;
            writer.WriteStartObject();
            writer.WriteString("name", curve.Name);
            writer.WriteStartArray("points");
            foreach (BrakePoint point in curve.Points)
            {
                writer.WriteStartObject();
                writer.WriteNumber("rpm", point.Reading.RadPerS / RadPerSPerRpm);
                writer.WriteNumber("torqueNm", point.TorqueNm, orNull: true);
                writer.WriteNumber("uTorqueNm", point.UTorqueNm, orNull: true);
                writer.WriteBoolean("flagged", point.Flagged);
                writer.WriteEndObject();
            }

            writer.WriteEndArray();
            writer.WriteNumber("betterAboveRpm", isBetter ? told!.CrossingRadPerS / RadPerSPerRpm : double.NaN, orNull: true);
            writer.WriteNumber("lowRpm", isBetter ? told!.LowRadPerS / RadPerSPerRpm : double.NaN, orNull: true);
            writer.WriteNumber("highRpm", isBetter ? told!.HighRadPerS / RadPerSPerRpm : double.NaN, orNull: true);
            writer.WriteString("verdict", text.Verdict(curve));
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        CompareJson.Names(writer, "notes", text.Notes);
        writer.WriteEndObject();
    }
}
