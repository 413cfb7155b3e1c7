using System.CommandLine;
using System.Globalization;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Import;
using Acquire.Service.Reports;

namespace Acquire.Service.Commands;

/// <summary><c>acquire import</c>: makes runs of a file of separated values.</summary>
internal sealed class ImportCommand
{
    private static readonly string[] Settings =
        ["--library", "--marks", "--top", "--base", "--cover", "--operator", "--note", "--temperature", "--pressure", "--humidity", "--grid", "--stop-below", "--stop-wait", "--lost-wait", "--max-rpm"];

    private static readonly string[] Moments =
        ["yyyy-MM-dd'T'HH:mm:ss.FFFFFFFK", "yyyy-MM-dd'T'HH:mm:ssK", "yyyy-MM-dd'T'HH:mmK", "yyyy-MM-dd HH:mm:ss.FFFFFFFK", "yyyy-MM-dd HH:mm:ssK", "yyyy-MM-dd HH:mmK", "yyyy-MM-dd"];

    private readonly Surroundings _surroundings;
    private readonly Argument<string> _file = new("file") { HelpName = "FILE", Description = "A text file of columns, separated by commas, semicolons or tabs; lines that begin with # are comments." };
    private readonly Option<string> _kind = new("--kind") { HelpName = "KIND", Description = "What the numbers are: pulses (when each came), intervals (from pulse to pulse), or speed (with --value-column)." };
    private readonly Option<string> _timeColumn = new("--time-column") { HelpName = "C", Description = "The column of times or intervals: its name, or its number from 1." };
    private readonly Option<string> _valueColumn = new("--value-column") { HelpName = "C", Description = "The column of speeds, with --kind speed." };
    private readonly Option<string> _unit = new("--unit") { HelpName = "U", Description = "The unit of times and intervals: s, ms, us, ns. [default: s]" };
    private readonly Option<string> _valueUnit = new("--value-unit") { HelpName = "U", Description = "The unit of speeds: rpm, rev/s, rad/s, deg/s. [default: rpm]" };
    private readonly Option<bool> _noHeader = new("--no-header") { Description = "The first line is no line of names." };
    private readonly Option<bool> _decimalComma = new("--decimal-comma") { Description = "Numbers have a decimal comma." };
    private readonly Option<bool> _strict = new("--strict") { Description = "Refuse the file if any line would be left out." };
    private readonly Option<string> _started = new("--started") { HelpName = "TIME", Description = "When the file's first time was, such as 2027-03-14T09:26:53Z; without a zone UTC. [default: from times that count from 1970, else the file's own time]" };
    private readonly NumberOption _clockLimit = new("--clock-limit", "PPM", "How far the clock behind the times may be off either way, parts per million; 100 for a crystal, 5000 for a ceramic resonator. [default: 100]", 0.001, 50_000, "ppm");
    private readonly Option<string[]> _factors = new(CaptureSettings.FactorOption) { HelpName = "name=value", Description = "A numeric factor of the set-up; may be given again." };
    private Dictionary<CaptureSetting, Option<string>> _settings = [];

    private ImportCommand(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("import", "Make a run of pulse times, intervals or speeds in a file, judged like a captured one. Prints the run's folder; several if the file holds several runs.");
        var import = new ImportCommand(surroundings);
        command.Arguments.Add(import._file);
        Option[] options =
        [
            import._kind, import._timeColumn, import._valueColumn, import._unit, import._valueUnit, import._noHeader, import._decimalComma, import._strict,
            import._started, import._clockLimit.Option,
        ];
        foreach (Option option in options)
            command.Options.Add(option);
        import._settings = CaptureCommand.Add(command, CaptureSettings.All.Where(s => Settings.Contains(s.Option)));
        command.Options.Add(import._factors);
        command.SetAction(import.Run);
        HelpText.Attach(command,
        [
            "acquire import pulses.csv --kind pulses --time-column time_us --unit us --top oak-rim",
            "acquire import gaps.txt --kind intervals --time-column 1 --no-header --unit ms --marks 2",
            "acquire import tacho.csv --kind speed --time-column Time --value-column Speed --value-unit rev/s",
        ]);
        return command;
    }

    private int Run(ParseResult call)
    {
        if (Order(call, out List<string> problems) is not { } order)
            return _surroundings.Refuse("import", problems);
        ImportOutcome outcome;
        try
        {
            outcome = Importer.Import(order);
        }
        catch (RunFormatException e)
        {
            return _surroundings.Refuse("import", e.Message);
        }

        foreach (string note in outcome.Notes)
            _surroundings.Error.WriteLine("acquire import: " + note);
        if (outcome.Problems.Count > 0)
            return _surroundings.Refuse("import", outcome.Problems);
        foreach (string folder in outcome.Folders)
        {
            if (RunReport.TryWrite(folder) is { } without)
                _surroundings.Error.WriteLine("acquire import: " + without);
            _surroundings.Out.WriteLine(folder);
        }

        _surroundings.Out.Flush();
        return ExitCode.Done;
    }

    private ImportOrder? Order(ParseResult call, out List<string> problems)
    {
        problems = [];
        string file = _surroundings.FullPath(call.GetRequiredValue(_file));
        if (!File.Exists(file))
            problems.Add(Directory.Exists(file) ? $"{file}: found a folder, expected a file" : $"{file}: found no file, expected one to import");
        string? kindText = Choice(call, _kind, Enum.GetNames<ImportKind>().Select(n => n.ToLowerInvariant()), null, problems);
        var kind = Enum.TryParse(kindText, ignoreCase: true, out ImportKind parsed) ? parsed : ImportKind.Pulses;
        string? time = call.GetValue(_timeColumn);
        string? value = call.GetValue(_valueColumn);
        if (string.IsNullOrEmpty(time))
            problems.Add("--time-column is needed: the name or the number of the column of times or intervals");
        if (kindText is not null && (kind == ImportKind.Speed) != (value is not null))
            problems.Add(value is null ? "--value-column is needed with --kind speed" : $"--value-column: '{value}' on the command line; allowed only with --kind speed");
        string? unit = Choice(call, _unit, TimeUnits.All.Select(u => u.Name), "s", problems);
        string? valueUnit = Choice(call, _valueUnit, ImportOrder.ValueUnits.Select(u => u.Name), "rpm", problems);
        double clockLimit = _clockLimit.Read(call, problems) ?? 100;
        DateTimeOffset? started = Started(call, problems);
        CaptureOptions? options = Options(call, problems);
        if (problems.Count > 0 || options is null)
            return null;
        var columns = new ImportColumns(time!, value, !call.GetValue(_noHeader), call.GetValue(_decimalComma));
        return new ImportOrder(file, kind, columns, unit!, valueUnit!, call.GetValue(_strict), started, clockLimit, options);
    }

    private CaptureOptions? Options(ParseResult call, List<string> problems)
    {
        Dictionary<string, string?> given = CaptureCommand.Given(call, _settings);
        given[CaptureSettings.Section + ":Port"] = "none"; // a capture needs one
        foreach (string factor in call.GetValue(_factors) ?? [])
        {
            if (CaptureSettings.SplitFactor(factor) is not { } split || split.Name.Contains(':', StringComparison.Ordinal))
                problems.Add($"{CaptureSettings.FactorOption}: '{factor}' on the command line; allowed is name=number");
            else if (!given.TryAdd($"{CaptureSettings.Section}:{CaptureOptionsValidator.FactorKey(split.Name)}", split.Value))
                problems.Add($"{CaptureSettings.FactorOption}: '{split.Name}' on the command line is given twice; allowed is one value a name");
        }

        if (CaptureConfiguration.Load(_surroundings, given, out string? unreadable) is not { } configuration)
        {
            problems.Add(unreadable!);
            return null;
        }

        (CaptureOptions options, IReadOnlyList<string> wrong) = configuration.Read();
        problems.AddRange(wrong);
        options.Library = _surroundings.FullPath(options.Library);
        if (File.Exists(options.Library))
            problems.Add($"--library: '{options.Library}' is a file; allowed is a folder");
        return options;
    }

    private DateTimeOffset? Started(ParseResult call, List<string> problems)
    {
        if (call.GetValue(_started) is not { } text)
            return null;
        if (DateTimeOffset.TryParseExact(text, Moments, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal, out DateTimeOffset moment))
            return moment;
        problems.Add($"--started: '{text}' on the command line; allowed is a moment such as 2027-03-14T09:26:53Z, or with +01:00 in the place of Z");
        return null;
    }

    private static string? Choice(ParseResult call, Option<string> option, IEnumerable<string> allowed, string? otherwise, List<string> problems)
    {
        string[] all = [.. allowed];
        string? text = call.GetValue(option) ?? otherwise;
        if (text is null)
            problems.Add($"{option.Name} is needed; allowed is {string.Join(", ", all)}");
        else if (Array.Find(all, a => a.Equals(text, StringComparison.OrdinalIgnoreCase)) is { } found)
            return found;
        else
            problems.Add($"{option.Name}: '{text}' on the command line; allowed is {string.Join(", ", all)}" + (NearestName.To(text, all) is { } near ? $"; did you mean {near}?" : ""));
        return null;
    }
}
