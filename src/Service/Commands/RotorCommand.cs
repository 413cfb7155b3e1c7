using System.CommandLine;
using System.Globalization;
using Acquire.Recording;
using Acquire.Results.Bodies;
using Acquire.Service.Bodies;

namespace Acquire.Service.Commands;

/// <summary><c>acquire rotor</c>: mass, inertia, topple speed and rim stress of a body, by its parts or by spins with a known ring.</summary>
internal sealed class RotorCommand
{
    private const double UsualRpm = 3000;
    private readonly Surroundings _surroundings;
    private readonly Argument<string> _file = new("file")
    {
        HelpName = "FILE",
        Description = "A JSON file of the body: {\"name\", \"runUpRpm\", \"parts\": [{\"name\", \"shape\", sizes, \"bottomMm\", \"material\", \"remove\": [shapes]}]}. "
            + "Shapes: " + Shapes() + ", points [[radius, height], …]. Sizes end in Mm or M; bottom is the height of the part's lowest point above the tip. "
            + "Instead of material, or beside it for the strength: densityKgM3, densityGCm3, massG, massKg, or mix {\"tungsten\": 0.95, \"nickel\": 0.05} by mass. Also fillShare of a print, strengthMPa, note.",
        Arity = ArgumentArity.ZeroOrOne,
    };

    private readonly NumberOption _rpm = new("--rpm", "RPM", "The speed for rim speed and stress. [default: the file's runUpRpm, else 3000]", 0.1, 1e6, "rpm");
    private readonly Option<string[]> _whatIf = new("--what-if") { HelpName = "PART.key=value", Description = "Change a part and show before and after; may be given again." };
    private readonly Option<bool> _materials = new("--materials") { Description = "List the materials with density, strength and source." };
    private readonly Option<string> _ring = new("--ring") { HelpName = "FILE", Description = "Measure the inertia: a file like FILE of a ring that was added for some spins." };
    private readonly Option<string[]> _without = new("--without") { HelpName = "RUN", Description = "Runs without the ring, or seconds from one speed to another; may be given again.", AllowMultipleArgumentsPerToken = true };
    private readonly Option<string[]> _with = new("--with") { HelpName = "RUN", Description = "Runs with the ring, or seconds between the same speeds; may be given again.", AllowMultipleArgumentsPerToken = true };
    private readonly NumberOption _uWithout = new("--u-without", "S", "Standard uncertainty of seconds given with --without. [default: 0]", 0, 1e5, "s");
    private readonly NumberOption _uWith = new("--u-with", "S", "The same of --with. [default: 0]", 0, 1e5, "s");
    private readonly NumberOption _from = new("--from", "RPM", "Runs are compared from this speed [default: 2000]", 1, 1e6, "rpm");
    private readonly NumberOption _to = new("--to", "RPM", "down to this one. [default: 500]", 1, 1e6, "rpm");
    private readonly LibraryOption _library = new();
    private readonly Option<bool> _json = new("--json") { Description = "Print one JSON document." };

    private RotorCommand(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("rotor", "Work out a body's mass, inertia, centre, topple speed and rim stress from its parts; or its inertia from spins with and without a known ring.");
        var rotor = new RotorCommand(surroundings);
        command.Arguments.Add(rotor._file);
        Option[] options =
        [
            rotor._rpm.Option, rotor._whatIf, rotor._materials, rotor._ring, rotor._without, rotor._with, rotor._uWithout.Option, rotor._uWith.Option,
            rotor._from.Option, rotor._to.Option, rotor._library.Option, rotor._json,
        ];
        foreach (Option option in options)
            command.Options.Add(option);
        command.SetAction(rotor.Run);
        HelpText.Attach(command,
        [
            "acquire rotor oak-rim.json --rpm 2500",
            "acquire rotor oak-rim.json --what-if rim.material=tungsten-alloy --what-if core.massG=20",
            "acquire rotor oak-rim.json --ring ring.json --without RUN1 RUN2 --with RUN3 RUN4",
            "acquire rotor --ring ring.json --without 612.4 --u-without 3 --with 655.0 --u-with 3",
        ]);
        return command;
    }

    private static string Shapes() => string.Join("; ", PartReader.Shapes.Where(s => s.Shape != "profile")
        .Select(s => $"{s.Shape} {string.Join(", ", s.Lengths)}").Append("profile"));

    private int Run(ParseResult call)
    {
        if (call.GetValue(_materials))
        {
            RotorText.WriteMaterials(_surroundings);
            return ExitCode.Done;
        }

        var problems = new List<string>();
        string? file = call.GetValue(_file);
        double? rpm = _rpm.Read(call, problems);
        string[] changes = call.GetValue(_whatIf) ?? [];
        if (file is null && call.GetValue(_ring) is null)
            problems.Add("FILE is needed, or --ring with --without and --with");
        if (file is null && changes.Length > 0)
            problems.Add("--what-if: there is no FILE to change; allowed beside FILE");
        if (problems.Count > 0)
            return _surroundings.Refuse("rotor", problems);
        try
        {
            return Answer(call, file, rpm, changes);
        }
        catch (RunFormatException e)
        {
            return _surroundings.Refuse("rotor", e.Message);
        }
    }

    private int Answer(ParseResult call, string? file, double? rpm, string[] changes)
    {
        var problems = new List<string>();
        var warnings = new List<string>();
        Rotor? rotor = file is null ? null : Read(file, [], problems, warnings);
        Rotor? changed = rotor is null || changes.Length == 0 ? null : Read(file!, changes, problems, warnings);
        MeasuredInertia? measured = problems.Count == 0 ? Measured(call, problems, warnings) : null;
        if (problems.Count > 0)
            return _surroundings.Refuse("rotor", problems);
        double speed = rpm ?? rotor?.RunUpRpm ?? UsualRpm;
        string[] all = [.. warnings.Distinct()];
        var answer = new RotorAnswer(rotor, speed, changed, measured, all);
        foreach (string warning in all)
            _surroundings.Error.WriteLine("acquire rotor: " + warning);
        if (call.GetValue(_json))
        {
            answer.WriteJson(_surroundings.Out);
            return ExitCode.Done;
        }

        string source = rpm is not null ? "" : rotor?.RunUpRpm is not null ? ", the file's runUpRpm" : " (no --rpm, no runUpRpm)";
        string title = rotor is { Name.Length: > 0 } ? rotor.Name : Path.GetFileName(file ?? "");
        RotorText.Write(_surroundings, title, answer, speed.ToString("0.###", CultureInfo.InvariantCulture) + " rpm" + source);
        return ExitCode.Done;
    }

    private Rotor? Read(string file, string[] changes, List<string> problems, List<string> warnings)
    {
        RotorReading reading = RotorFile.Read(_surroundings.FullPath(file), changes);
        problems.AddRange(reading.Problems);
        warnings.AddRange(reading.Warnings);
        return reading.Rotor;
    }

    private MeasuredInertia? Measured(ParseResult call, List<string> problems, List<string> warnings)
    {
        (string[] without, string[] with) = (call.GetValue(_without) ?? [], call.GetValue(_with) ?? []);
        string? ringFile = call.GetValue(_ring);
        if (ringFile is null && without.Length + with.Length == 0)
            return null;
        if (ringFile is null || without.Length == 0 || with.Length == 0)
            problems.Add("--ring, --without and --with are needed together");
        (double uWithout, double uWith) = (_uWithout.Read(call, problems) ?? 0, _uWith.Read(call, problems) ?? 0);
        (double from, double to) = (_from.Read(call, problems) ?? 2000, _to.Read(call, problems) ?? 500);
        if (from <= to)
            problems.Add(string.Create(CultureInfo.InvariantCulture, $"--from: {from} rpm; allowed is more than --to, which is {to} rpm"));
        if (problems.Count > 0)
            return null;
        var ringWarnings = new List<string>();
        Rotor? ring = Read(ringFile!, [], problems, ringWarnings);
        string? library = _library.Folder(call, _surroundings, out string? unreadable);
        if (unreadable is not null)
            problems.Add(unreadable);
        if (ring is null || library is null)
            return null;

        warnings.AddRange(ringWarnings.Where(w => !w.Contains("tip at height 0", StringComparison.Ordinal)));
        var spins = new RingSpins();
        MeasuredInertia? measured = spins.Measure(ring, without, with, (uWithout, uWith), from, to, run =>
        {
            string? folder = LibraryOption.Run(run, library, _surroundings, out string? missing);
            return (folder, missing);
        });
        problems.AddRange(spins.Problems);
        return measured;
    }
}
