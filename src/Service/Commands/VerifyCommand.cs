using System.CommandLine;
using Acquire.Recording;
using Acquire.Service.Evidence;

namespace Acquire.Service.Commands;

/// <summary><c>acquire verify</c>: compares runs with what their descriptors say of them.</summary>
internal static class VerifyCommand
{
    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("verify", "Check that runs are whole and as they were written, or an evidence file against its run. Exits with 1 where one is not.");
        var target = new Argument<string?>("run")
        {
            HelpName = "RUN|LIBRARY|FILE",
            Description = "A run, a folder of runs, or a file that acquire evidence wrote: every byte of it by its own hash, and its hashes and figures by the run. [default: the library]",
            Arity = ArgumentArity.ZeroOrOne,
        };
        var evidenceRun = new Option<string>("--run") { HelpName = "RUN", Description = "The run that an evidence FILE is checked against. [default: the folder of its name beside FILE, else in the library]" };
        var library = new LibraryOption();
        var json = new Option<bool>("--json") { Description = "Print one JSON document." };
        command.Arguments.Add(target);
        command.Options.Add(library.Option);
        command.Options.Add(json);
        command.Options.Add(evidenceRun);
        command.SetAction(call => Run(call, call.GetValue(target), call.GetValue(evidenceRun), library, call.GetValue(json), surroundings));
        HelpText.Attach(command, ["acquire verify 20270314T092653Z-oak-rim", "acquire verify spins --json", "acquire verify 20270314T092653Z-oak-rim-evidence.html --run copied/20270314T092653Z-oak-rim"]);
        return command;
    }

    private static int Run(ParseResult call, string? target, string? evidenceRun, LibraryOption option, bool json, Surroundings surroundings)
    {
        if (option.Folder(call, surroundings, out string? problem) is not { } library) return surroundings.Refuse("verify", problem!);
        if (target is not null && File.Exists(surroundings.FullPath(target))) return Evidence(surroundings.FullPath(target), evidenceRun, library, json, surroundings);
        if (evidenceRun is not null) return surroundings.Refuse("verify", $"--run names the run of an evidence file, and '{target ?? library}' is no file");
        string? folder = target is null ? library : LibraryOption.Find(target, library, surroundings);
        if (folder is null || !Directory.Exists(folder))
            return surroundings.Refuse("verify", $"there is no folder '{target ?? library}', and no run of that name in {library}");

        bool isRun = target is not null && folder != library && LibraryOption.IsRun(folder, library);
        IReadOnlyList<RunProblem> problems = isRun ? RunVerifier.Verify(folder) : RunVerifier.VerifyLibrary(folder);
        if (json) WriteJson(surroundings.Out, problems);
        else WriteText(surroundings.Out, problems, isRun ? Path.GetFileName(folder) : $"{RunLibrary.List(folder).Count} runs in {folder}", isRun && problems.Count == 0 ? Edits(folder) : "");
        return problems.Count == 0 ? ExitCode.Done : ExitCode.No;
    }

    private static int Evidence(string file, string? named, string library, bool json, Surroundings surroundings)
    {
        if (EvidenceCheck.Read(file) is not { } check)
            return surroundings.Refuse("verify", $"{file}: found nothing of an evidence in it, expected a page that acquire evidence wrote");
        check.Itself();
        string beside = Path.Combine(Path.GetDirectoryName(file)!, check.RunName.Length > 0 ? check.RunName : ".");
        string? problem = null;
        string? folder = named is not null ? LibraryOption.Run(named, library, surroundings, out problem)
            : check.RunName.Length > 0 && Path.GetFileName(check.RunName) == check.RunName
                ? Directory.Exists(beside) ? beside : LibraryOption.Find(check.RunName, library, surroundings) : null;
        if (folder is null && check.Problems.Count == 0)
            return surroundings.Refuse("verify", problem ?? $"there is no run '{check.RunName}' beside {file} or in {library}; --run names it");
        string? notChecked = folder is null ? "its run was not found" : check.Against(folder);
        if (notChecked is not null) surroundings.Error.WriteLine("acquire verify: " + notChecked);
        if (json) WriteJson(surroundings.Out, check.Problems);
        else WriteText(surroundings.Out, check.Problems, $"{Path.GetFileName(file)}{(folder is null ? "" : " and " + folder)}", "; hashes of all files and every figure agree");
        return check.Problems.Count == 0 ? ExitCode.Done : ExitCode.No;
    }

    private static string Edits(string folder)
    {
        IReadOnlyList<RunEdit> edits = RunPackageReader.ReadDescriptor(folder).Edits ?? [];
        return edits.Count == 0
            ? ""
            : $"; {edits.Count} later {(edits.Count == 1 ? "edit" : "edits")}, the last on {edits[^1].At.UtcDateTime:yyyy-MM-dd HH:mm:ss} UTC";
    }

    private static void WriteJson(TextWriter output, IReadOnlyList<RunProblem> problems) => JsonAnswer.Write(output, writer =>
    {
        writer.WriteStartObject();
        writer.WriteBoolean("ok", problems.Count == 0);
        writer.WriteStartArray("problems");
        foreach (RunProblem problem in problems)
        {
            writer.WriteStartObject();
            writer.WriteString("run", problem.Run);
            writer.WriteString("file", problem.File);
            writer.WriteString("what", problem.What);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteEndObject();
    });

    private static void WriteText(TextWriter output, IReadOnlyList<RunProblem> problems, string what, string edits)
    {
        foreach (RunProblem problem in problems)
            output.WriteLine($"{problem.Run}{(problem.File.Length > 0 ? "/" + problem.File : "")}: {problem.What}");
        output.WriteLine(problems.Count == 0 ? $"{what}: as written{edits}" : $"{what}: {problems.Count} {(problems.Count == 1 ? "problem" : "problems")}");
        output.Flush();
    }
}
