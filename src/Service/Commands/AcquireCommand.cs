using System.CommandLine;
using System.CommandLine.Invocation;
using System.CommandLine.Parsing;

namespace Acquire.Service.Commands;

/// <summary>The program's command line as a whole.</summary>
public static class AcquireCommand
{
    /// <summary>Runs a call.</summary>
    /// <param name="args">The words of the call without the program's name.</param>
    /// <param name="surroundings">Where it runs.</param>
    /// <returns>One of <see cref="ExitCode"/>.</returns>
    public static int Run(string[] args, Surroundings surroundings)
    {
        ArgumentNullException.ThrowIfNull(args);
        ArgumentNullException.ThrowIfNull(surroundings);
        RootCommand root = Build(surroundings);
        ParseResult call = root.Parse(args, new ParserConfiguration { ResponseFileTokenReplacer = null });
        if (call.Action is ParseErrorAction || (call.Action is null && call.Errors.Count == 0)) return Refuse(call, surroundings.Error);

        // Signals belong to the host of a capture, faults to this method.
        var invocation = new InvocationConfiguration
        {
            Output = surroundings.Out,
            Error = surroundings.Error,
            EnableDefaultExceptionHandler = false,
            ProcessTerminationTimeout = null,
        };
        try
        {
            return call.Invoke(invocation);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            surroundings.Error.WriteLine("acquire: " + e.Message);
            return ExitCode.Failed;
        }
    }

    private static RootCommand Build(Surroundings surroundings)
    {
        var root = new RootCommand("Measures how long a top or a flywheel spins and how it slows down.");
        CommandGroup[] groups =
        [
            new("Capture", [CaptureCommand.Build(surroundings), SensorCommand.Build(surroundings), ServeCommand.Build(surroundings), StatusCommand.Build(surroundings)]),
            new("Library", [RunsCommand.Build(surroundings), ShowCommand.Build(surroundings), EditCommand.Build(surroundings), VerifyCommand.Build(surroundings), RecoverCommand.Build(surroundings), ImportCommand.Build(surroundings), ExportCommand.Build(surroundings)]),
            new("Results", [SpindownCommand.Build(surroundings), CompareCommand.Build(surroundings), SweepCommand.Build(surroundings), LaunchCommand.Build(surroundings), BrakeCommand.Build(surroundings), BestCommand.Build(surroundings), EvidenceCommand.Build(surroundings)]),
            new("Design", [ForecastCommand.Build(surroundings), RotorCommand.Build(surroundings), AirCommand.Build(surroundings), PlanCommand.Build(surroundings)]),
        ];
        foreach (Command command in groups.SelectMany(g => g.Commands)) root.Subcommands.Add(command);

        VersionOption version = root.Options.OfType<VersionOption>().Single();
        version.Description = "Show the version.";
        version.Action = new VersionText();
        HelpText.Attach(root, ["acquire capture --port /dev/ttyACM0 --top oak-rim --once", "acquire COMMAND --help"], groups);
        return root;
    }

    private static int Refuse(ParseResult call, TextWriter error)
    {
        Command command = call.CommandResult.Command;
        string name = command is RootCommand ? "acquire" : "acquire " + command.Name;
        foreach (string problem in Problems(call, command)) error.WriteLine($"{name}: {problem}");
        error.WriteLine($"See {name} --help.");
        return ExitCode.WrongCall;
    }

    private static IEnumerable<string> Problems(ParseResult call, Command command)
    {
        // What follows an unknown option is most likely its value.
        string[] unknown = [.. call.UnmatchedTokens.Where((word, i) =>
            word.StartsWith('-') || i == 0 || !call.UnmatchedTokens[i - 1].StartsWith('-'))];
        foreach (string word in unknown) yield return Unknown(word, command);
        if (unknown.Length > 0) yield break;
        if (command is RootCommand)
        {
            yield return "a command is needed: " + string.Join(", ", command.Subcommands.Select(c => c.Name));
            yield break;
        }

        foreach (ParseError problem in call.Errors) yield return problem.Message;
    }

    private static string Unknown(string word, Command command)
    {
        bool isOption = word.StartsWith('-');
        string[] known = isOption
            ? [.. command.Options.Where(o => !o.Hidden).Select(o => o.Name)]
            : [.. command.Subcommands.Select(c => c.Name)];
        string what = isOption ? "option" : command is RootCommand ? "command" : "word";
        string? nearest = NearestName.To(isOption ? word.Split('=')[0] : word, known);
        if (nearest is not null) return $"unknown {what} {word}; did you mean {nearest}?";
        return known.Length == 0 ? $"unknown {what} {word}" : $"unknown {what} {word}; there are {string.Join(", ", known)}";
    }

    private sealed class VersionText : SynchronousCommandLineAction
    {
        public override bool ClearsParseErrors => true;

        public override int Invoke(ParseResult parseResult)
        {
            parseResult.InvocationConfiguration.Output.WriteLine(ProgramVersion.Software);
            return ExitCode.Done;
        }
    }
}
