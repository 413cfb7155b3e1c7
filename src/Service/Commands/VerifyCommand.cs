using System.CommandLine;
using Acquire.Recording;

namespace Acquire.Service.Commands;

/// <summary><c>acquire verify</c>: compares runs with what their descriptors say of them.</summary>
internal static class VerifyCommand
{
    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("verify", "Check that runs are whole and as they were written. Exits with 1 where one is not.");
        var target = new Argument<string?>("run")
        {
            HelpName = "RUN|LIBRARY",
            Description = "A run, or a folder of runs. [default: the library]",
            Arity = ArgumentArity.ZeroOrOne,
        };
        var library = new LibraryOption();
        var json = new Option<bool>("--json") { Description = "Print one JSON document." };
        command.Arguments.Add(target);
        command.Options.Add(library.Option);
        command.Options.Add(json);
        command.SetAction(call => Run(call, call.GetValue(target), library, call.GetValue(json), surroundings));
        HelpText.Attach(command, ["acquire verify 20270314T092653Z-oak-rim", "acquire verify spins --json"]);
        return command;
    }

    private static int Run(ParseResult call, string? target, LibraryOption option, bool json, Surroundings surroundings)
    {
        if (option.Folder(call, surroundings, out string? problem) is not { } library) return surroundings.Refuse("verify", problem!);
        string? folder = target is null ? library : LibraryOption.Find(target, library, surroundings);
        if (folder is null || !Directory.Exists(folder))
            return surroundings.Refuse("verify", $"there is no folder '{target ?? library}', and no run of that name in {library}");

        bool isRun = target is not null && folder != library && LibraryOption.IsRun(folder, library);
        IReadOnlyList<RunProblem> problems = isRun ? RunVerifier.Verify(folder) : RunVerifier.VerifyLibrary(folder);
        if (json) WriteJson(surroundings.Out, problems);
        else WriteText(surroundings.Out, problems, isRun ? Path.GetFileName(folder) : $"{RunLibrary.List(folder).Count} runs in {folder}", isRun && problems.Count == 0 ? Edits(folder) : "");
        return problems.Count == 0 ? ExitCode.Done : ExitCode.No;
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
