using System.CommandLine;
using Acquire.Recording;
using Acquire.Service.Evidence;
using Acquire.Service.Runs;

namespace Acquire.Service.Commands;

/// <summary><c>acquire evidence</c>: one file that ties a run's figures to its files, for a record attempt.</summary>
internal sealed class EvidenceCommand
{
    private readonly Surroundings _surroundings;
    private readonly Argument<string> _run = new("run") { HelpName = "RUN", Description = "The run's folder, or its name in the library." };
    private readonly Option<string> _out = new("--out") { HelpName = "FILE", Description = "Where the file goes, .html, outside the run's folder. [default: RUN-evidence.html in the current folder]" };
    private readonly LibraryOption _library = new();

    private EvidenceCommand(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command(
            "evidence",
            "Write one self-contained file of a run for a record attempt: times with their uncertainties, clock, counts, set-up, plots, and hashes of every file. acquire verify FILE checks it against the run. It is a check of consistency, not a signature. Exits with 1 where the run is not whole.");
        var evidence = new EvidenceCommand(surroundings);
        command.Arguments.Add(evidence._run);
        command.Options.Add(evidence._out);
        command.Options.Add(evidence._library.Option);
        command.SetAction(evidence.Run);
        HelpText.Attach(command, ["acquire evidence 20270314T092653Z-oak-rim", "acquire evidence 20270314T092653Z-oak-rim --out record.html"]);
        return command;
    }

    private int Run(ParseResult call)
    {
        if (_library.Folder(call, _surroundings, out string? problem) is not { } library
            || LibraryOption.Run(call.GetRequiredValue(_run), library, _surroundings, out problem) is not { } folder)
            return _surroundings.Refuse("evidence", problem!);
        string file = _surroundings.FullPath(call.GetValue(_out) ?? Path.GetFileName(folder) + "-evidence.html");
        if (Misplaced(file) is { } wrong) return _surroundings.Refuse("evidence", wrong);
        try
        {
            return Make(folder, file);
        }
        catch (RunFormatException e)
        {
            return _surroundings.Refuse("evidence", e.Message);
        }
        catch (Exception e) when (e is DllNotFoundException or TypeInitializationException)
        {
            _surroundings.Error.WriteLine($"acquire evidence: the plots cannot be drawn: {e.Message}");
            return ExitCode.Failed;
        }
    }

    private int Make(string folder, string file)
    {
        IReadOnlyList<RunProblem> problems = RunVerifier.Verify(folder);
        foreach (RunProblem problem in problems)
            _surroundings.Error.WriteLine($"acquire evidence: {problem.Run}{(problem.File.Length > 0 ? "/" + problem.File : "")}: {problem.What}");
        if (problems.Count > 0)
        {
            _surroundings.Error.WriteLine("acquire evidence: none is written of a run that is not as it was written.");
            return ExitCode.No;
        }

        RunData run = RunData.Read(folder);
        MarksAnew anew = MarksAnew.Of(run);
        foreach ((string of, string what) in EvidenceFigures.AtOdds(run.Descriptor, anew))
        {
            _surroundings.Error.WriteLine($"acquire evidence: {run.Name}/{of}: {what}");
            problems = [.. problems, new RunProblem(run.Name, of, what)];
        }

        if (problems.Count > 0)
        {
            _surroundings.Error.WriteLine("acquire evidence: none is written of a run that does not agree with its own marks.");
            return ExitCode.No;
        }

        File.WriteAllBytes(file, EvidencePage.Make(run, anew, _surroundings.Time.GetUtcNow()));
        _surroundings.Out.WriteLine(file);
        _surroundings.Out.Flush();
        return ExitCode.Done;
    }

    private static string? Misplaced(string file)
    {
        string? folder = Path.GetDirectoryName(file);
        if (!file.EndsWith(".html", StringComparison.OrdinalIgnoreCase)) return $"--out: '{file}'; allowed is a file that ends in .html";
        if (!Directory.Exists(folder)) return $"--out: there is no folder '{folder}'";
        if (Path.Exists(file)) return $"--out: '{file}' is there already, and what stands in it may be wanted; allowed is a name that is free";
        return File.Exists(Path.Combine(folder, "datapackage.json")) ? $"--out: '{file}' is in a run's folder, which is kept as it was written; allowed is any other folder" : null;
    }
}
