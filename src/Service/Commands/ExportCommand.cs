using System.CommandLine;
using System.Globalization;
using System.Text;
using Acquire.Recording;
using Acquire.Service.Export;
using Acquire.Service.Runs;

namespace Acquire.Service.Commands;

/// <summary><c>acquire export</c>: a run for spreadsheets, for data tools, and as captions over a film of the spin.</summary>
internal sealed class ExportCommand
{
    private const string Csv = "csv";
    private const string Parquet = "parquet";
    private const string Vtt = "vtt";
    private const string Srt = "srt";
    private static readonly string[] Formats = [Csv, Parquet, Vtt, Srt];

    private readonly Surroundings _surroundings;
    private readonly Argument<string> _run = new("run") { HelpName = "RUN", Description = "The run's folder, or its name in the library." };
    private readonly Option<string> _to = new("--to")
    {
        HelpName = "FORMAT",
        Description = "csv: one table of speed against time since the release, for spreadsheets; parquet: the tables of speed and of pulses with their units, "
            + "for data tools; vtt, srt: captions of time and speed to lay over a film of the spin.",
    };

    private readonly Option<string> _output = new("--output")
    {
        HelpName = "FILE",
        Description = "Where it goes; - for standard output (not parquet). Parquet makes two files: of FILE.parquet, FILE-speed.parquet and FILE-pulses.parquet. [default: RUN.FORMAT in the current folder]",
    };

    private readonly NumberOption _from = new("--from", "S", "Begin so many seconds after the release; less than 0 is the launch. [default: the run's beginning; of captions the release]", -1e6, 1e6, "s");
    private readonly NumberOption _until = new("--until", "S", "End so many seconds after the release. [default: the run's end]", -1e6, 1e6, "s");
    private readonly NumberOption _interval = new("--interval", "S", "How long each caption stands. [default: 1]", 0.04, 3600, "s");
    private readonly NumberOption _offset = new("--offset", "S", "When the hand lets go in the film, seconds from its beginning. [default: 0]", -1e6, 1e6, "s");
    private readonly LibraryOption _library = new();

    private ExportCommand(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("export", "Write a run as a table for spreadsheets, as Parquet for data tools, or as captions for a film of the spin.");
        var export = new ExportCommand(surroundings);
        command.Arguments.Add(export._run);
        Option[] options =
        [
            export._to, export._output, export._from.Option, export._until.Option, export._interval.Option, export._offset.Option, export._library.Option,
        ];
        foreach (Option option in options) command.Options.Add(option);
        command.SetAction(export.Run);
        HelpText.Attach(command,
        [
            "acquire export 20270314T092653Z-oak-rim --to csv",
            "acquire export 20270314T092653Z-oak-rim --to parquet --output oak-rim.parquet",
            "acquire export 20270314T092653Z-oak-rim --to srt --offset 12.4 --interval 0.5 --from -3 --output film.srt",
        ]);
        return command;
    }

    private int Run(ParseResult call)
    {
        var problems = new List<string>();
        string? format = Format(call, problems);
        var span = new ExportSpan(_from.Read(call, problems), _until.Read(call, problems));
        (double? interval, double? offset) = (_interval.Read(call, problems), _offset.Read(call, problems));
        if (span.FromS >= span.ToS) problems.Add(string.Create(CultureInfo.InvariantCulture, $"--from {span.FromS} --until {span.ToS}; --from must be before --until"));
        if (format is Csv or Parquet && (interval ?? offset) is not null) problems.Add("--interval and --offset are for captions: --to vtt or --to srt");
        if (problems.Count > 0) return _surroundings.Refuse("export", problems);
        if (_library.Folder(call, _surroundings, out string? problem) is not { } library
            || LibraryOption.Run(call.GetRequiredValue(_run), library, _surroundings, out problem) is not { } folder
            || Output(call, format!, Path.GetFileName(folder), out problem) is not { } output)
            return _surroundings.Refuse("export", problem!);
        try
        {
            RunData run = RunData.Read(folder);
            return format == Parquet ? WriteParquet(run, span, output)
                : Write(run, format!, new CaptionOrder(span, interval ?? 1, offset ?? 0), output);
        }
        catch (RunFormatException e)
        {
            return _surroundings.Refuse("export", e.Message);
        }
    }

    private string? Format(ParseResult call, List<string> problems)
    {
        string? format = call.GetValue(_to)?.ToLowerInvariant();
        if (format is not null && Formats.Contains(format)) return format;
        problems.Add(format is null ? $"--to FORMAT is needed: {string.Join(", ", Formats)}" : $"--to: '{call.GetValue(_to)}'; allowed are {string.Join(", ", Formats)}");
        return null;
    }

    // A run's folder is kept as it was written. "-" is standard output.
    private string? Output(ParseResult call, string format, string run, out string? problem)
    {
        string? given = call.GetValue(_output);
        if (given == "-")
        {
            problem = format == Parquet ? "--output: '-'; Parquet is two files that are not text; allowed is a file's name" : null;
            return problem is null ? given : null;
        }

        string file = _surroundings.FullPath(given ?? $"{run}.{format}");
        string? folder = Path.GetDirectoryName(file);
        problem = Directory.Exists(file) ? $"--output: '{file}' is a folder; allowed is a file"
            : !Directory.Exists(folder) ? $"--output: there is no folder '{folder}'"
            : File.Exists(Path.Combine(folder, "datapackage.json")) ? $"--output: '{file}' is in a run's folder, which is kept as it was written; allowed is any other folder" : null;
        return problem is null ? file : null;
    }

    private int Write(RunData run, string format, CaptionOrder order, string output)
    {
        CaptionTrack? track = format == Csv ? null : CaptionTrack.Of(run, order);
        if (track is { Captions.Count: 0 } || (track is null && !run.Speed.Any(p => order.Span.Holds(p.TimeS - run.ReleaseS))))
            return _surroundings.Refuse("export", Nothing(run));
        void Text(TextWriter text)
        {
            if (track is null) SpeedTable.Write(text, run, order.Span);
            else if (format == Vtt) CaptionText.WriteVtt(text, track.Captions);
            else CaptionText.WriteSrt(text, track.Captions);
        }

        if (track is { BeforeFilm: > 0 }) _surroundings.Error.WriteLine($"acquire export: {track.BeforeFilm} captions are left out: they lie before the film's beginning (--offset)");
        if (track is { Lost: > 0 }) _surroundings.Error.WriteLine($"acquire export: {track.Lost} of {track.Captions.Count} captions say that the signal was lost");
        if (output == "-")
        {
            Text(_surroundings.Out);
            _surroundings.Out.Flush();
            return ExitCode.Done;
        }

        Whole(output, stream =>
        {
            using var text = new StreamWriter(stream, new UTF8Encoding(false));
            Text(text);
        });
        return Done([output]);
    }

    private int WriteParquet(RunData run, ExportSpan span, string output)
    {
        if (!run.Speed.Any(p => span.Holds(p.TimeS - run.ReleaseS))) return _surroundings.Refuse("export", Nothing(run));
        string stem = output.EndsWith(".parquet", StringComparison.OrdinalIgnoreCase) ? output[..^".parquet".Length] : output;
        (string speed, string pulses) = (stem + "-speed.parquet", stem + "-pulses.parquet");
        Whole(speed, stream => ParquetTables.WriteSpeed(stream, run, span));
        int rows = 0;
        Whole(pulses, stream => rows = ParquetTables.WritePulses(stream, run, span));
        if (rows == 0) _surroundings.Error.WriteLine("acquire export: there are no pulses in that part of the run; the table of pulses has no rows");
        return Done([speed, pulses]);
    }

    // What cannot be written whole is not there at all.
    private static void Whole(string file, Action<Stream> write)
    {
        string part = file + ".part";
        try
        {
            using (FileStream stream = File.Create(part)) write(stream);
            File.Move(part, file, overwrite: true);
        }
        finally
        {
            File.Delete(part);
        }
    }

    private int Done(string[] files)
    {
        foreach (string file in files) _surroundings.Out.WriteLine(file);
        _surroundings.Out.Flush();
        return ExitCode.Done;
    }

    private static string Nothing(RunData run) => run.Speed.Count == 0 ? $"{run.Name}: no speed is known of it"
        : string.Create(CultureInfo.InvariantCulture, $"nothing of {run.Name} lies there: it goes from {run.Speed[0].TimeS - run.ReleaseS:0.#} to {run.Speed[^1].TimeS - run.ReleaseS:0.#} s after its release (--from, --until, --offset)");
}
