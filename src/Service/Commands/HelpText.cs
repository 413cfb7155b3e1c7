using System.CommandLine;
using System.CommandLine.Help;
using System.CommandLine.Invocation;

namespace Acquire.Service.Commands;

/// <summary>What <c>--help</c> prints: what a command does, how it is called, its arguments and options, and examples; for the
/// program itself its commands by group; cautions where work can hurt.</summary>
internal sealed class HelpText(string[] examples, IReadOnlyList<CommandGroup> groups, IReadOnlyList<string> cautions) : SynchronousCommandLineAction
{
    private const int Columns = 100;
    private const int Indent = 2;
    private const int WidestName = 28;

    /// <inheritdoc/>
    public override bool ClearsParseErrors => true;

    /// <summary>Gives a command this help.</summary>
    public static void Attach(Command command, string[] examples, IReadOnlyList<CommandGroup>? groups = null, IReadOnlyList<string>? cautions = null)
    {
        HelpOption? help = command.Options.OfType<HelpOption>().FirstOrDefault();
        if (help is null) command.Options.Add(help = new HelpOption("--help", "-h"));
        help.Description = "Show this help.";
        help.Action = new HelpText(examples, groups ?? [], cautions ?? []);
    }

    /// <inheritdoc/>
    public override int Invoke(ParseResult parseResult)
    {
        Write(parseResult.CommandResult.Command, parseResult.InvocationConfiguration.Output);
        return ExitCode.Done;
    }

    private void Write(Command command, TextWriter output)
    {
        bool isRoot = groups.Count > 0;
        output.WriteLine(command.Description);
        output.WriteLine();
        string words = string.Concat(command.Arguments.Select(a => " " + a.HelpName + (a.Arity.MaximumNumberOfValues > 1 ? "…" : "")));
        output.WriteLine(isRoot ? "Usage: acquire COMMAND [options]" : $"Usage: acquire {command.Name}{words} [options]");
        foreach (CommandGroup group in groups)
            WriteRows(output, group.Name, group.Commands.Select(c => (c.Name, c.Description ?? "")));
        WriteRows(output, "Arguments", command.Arguments.Select(a => (a.HelpName ?? a.Name, a.Description ?? "")));
        WriteRows(output, "Options", command.Options.Where(o => !o.Hidden).Select(o => (Label(o), o.Description ?? "")));
        WriteRows(output, examples.Length == 1 ? "Example" : "Examples", examples.Select(e => (e, "")));
        WriteRows(output, "Cautions", cautions.Select(c => ("", c)));
    }

    private static string Label(Option option)
    {
        string names = string.Join(", ", option.Aliases.Where(a => a.StartsWith('-')).Prepend(option.Name).Distinct());
        if (option.HelpName is null) return names;
        return option.Arity.MinimumNumberOfValues == 0 ? $"{names} [{option.HelpName}]" : $"{names} {option.HelpName}";
    }

    private static void WriteRows(TextWriter output, string title, IEnumerable<(string Name, string Text)> rows)
    {
        (string Name, string Text)[] all = [.. rows];
        if (all.Length == 0) return;
        output.WriteLine();
        output.WriteLine(title + ":");
        int width = Math.Min(WidestName, all.Max(r => r.Name.Length));
        foreach ((string name, string text) in all) WriteRow(output, name, text, width);
    }

    private static void WriteRow(TextWriter output, string name, string text, int width)
    {
        string margin = new(' ', Indent);
        string[] lines = [.. Wrap(text, Columns - width - (2 * Indent))];
        if (lines.Length == 0 || name.Length > width) output.WriteLine(margin + name);
        for (int i = 0; i < lines.Length; i++)
        {
            string first = i == 0 && name.Length <= width ? name : "";
            output.WriteLine(margin + first.PadRight(width) + margin + lines[i]);
        }
    }

    private static IEnumerable<string> Wrap(string text, int columns)
    {
        string line = "";
        foreach (string word in text.Split(' ', StringSplitOptions.RemoveEmptyEntries))
        {
            if (line.Length > 0 && line.Length + 1 + word.Length > columns)
            {
                yield return line;
                line = "";
            }

            line = line.Length == 0 ? word : line + " " + word;
        }

        if (line.Length > 0) yield return line;
    }
}

/// <summary>Commands that the help shows together.</summary>
/// <param name="Name">The group's name.</param>
/// <param name="Commands">Its commands.</param>
internal sealed record CommandGroup(string Name, IReadOnlyList<Command> Commands);
