using System.CommandLine;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Display;
using Acquire.Service.Page;
using Microsoft.Extensions.Configuration;
using Spectre.Console;

namespace Acquire.Service.Commands;

/// <summary><c>acquire serve</c>: captures and serves the bench page beside it, or the library only.</summary>
internal static class ServeCommand
{
    /// <summary>The command's name.</summary>
    public const string Name = "serve";

    private static readonly string[] Sources = ["Port", "Gpio"];

    private static readonly string[] Examples =
    [
        "acquire serve --port /dev/ttyACM0 --top oak-rim",
        "acquire serve --library spins",
        "acquire serve --set-password",
        "acquire serve --port /dev/ttyACM0 --listen 0.0.0.0:8735",
    ];

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command(Name, "Capture, and serve the bench page beside it: the spin live, set-up of the next, all runs, comparison, downloads. Without a port the library only.");
        Dictionary<CaptureSetting, Option<string>> options = CaptureCommand.Add(command, CaptureSettings.All);
        var factors = new Option<string[]>(CaptureSettings.FactorOption)
        {
            Description = "A numeric factor of the set-up, the unit in its name, such as dish_radius_mm=80; may be given again.",
            HelpName = "name=value",
        };
        var listen = new Option<string>("--listen") { HelpName = "ADDRESS:PORT", Description = $"Where the page is served; parted by commas where several. Beyond this computer it needs a password. [default: {PageSettings.UsualListen}]" };
        var ask = new Option<bool>("--ask") { Description = "Ask for the password on this computer too." };
        var setPassword = new Option<bool>("--set-password") { Description = "Set the page's password, and nothing else: it is asked for, or read as one line from standard input where that is no terminal." };
        foreach (Option option in (Option[])[factors, listen, ask, setPassword]) command.Options.Add(option);
        command.SetAction(call =>
        {
            Dictionary<string, string?> given = CaptureCommand.Given(call, options);
            if (call.GetValue(listen) is { } at) given[PageSettings.Section + ":Listen"] = at;
            if (call.GetValue(ask)) given[PageSettings.Section + ":Ask"] = "true";
            return Run(surroundings, given, call.GetValue(factors) ?? [], call.GetValue(setPassword));
        });
        HelpText.Attach(command, Examples);
        return command;
    }

    /// <summary>Reads the page's settings and says what is wrong with them; a page that others can reach needs its password.</summary>
    internal static PageSettings Page(IConfigurationRoot root, string library, Surroundings surroundings, List<string> problems)
    {
        PageSettings page = PageSettings.Read(root, library, surroundings, problems);
        if (page.NeedsPassword && PagePassword.Read(page.PasswordFile, out string? without) is null) problems.Add((page.IsOnNetwork ? "--listen: on a network the page asks for a password, but " : "--ask: ") + without);
        return page;
    }

    private static int Run(Surroundings surroundings, Dictionary<string, string?> given, string[] factors, bool setPassword)
    {
        if (CaptureConfiguration.Load(surroundings, given, out string? unreadable) is not { } configuration) return surroundings.Refuse(Name, unreadable!);
        bool hasSource = Sources.Any(s => !string.IsNullOrWhiteSpace(configuration.Root[$"{CaptureSettings.Section}:{s}"]));
        if (hasSource && !setPassword) return CaptureCommand.Run(surroundings, Name, given, factors);
        string? named = configuration.Root[CaptureSettings.Section + ":Library"];
        string library = surroundings.FullPath(string.IsNullOrWhiteSpace(named) ? new CaptureOptions().Library : named);
        if (File.Exists(library)) return surroundings.Refuse(Name, $"--library: '{library}' is a file; allowed is a folder");
        var problems = new List<string>();
        if (setPassword)
        {
            PageSettings settings = PageSettings.Read(configuration.Root, library, surroundings, problems);
            return problems.Count > 0 ? surroundings.Refuse(Name, problems) : SetPassword(settings.PasswordFile, surroundings);
        }

        PageSettings page = Page(configuration.Root, library, surroundings, problems);
        if (problems.Count > 0) return surroundings.Refuse(Name, problems);
        DurableFolder.Make(library);
        return new LibraryHost(surroundings, configuration.Root, page).Run();
    }

    private static int SetPassword(string file, Surroundings surroundings)
    {
        string password = surroundings.InIsTerminal && surroundings.ErrorIsTerminal ? Asked(surroundings, "New password of the page:") : surroundings.In.ReadLine() ?? "";
        if (PagePassword.Problem(password) is { } problem) return surroundings.Refuse(Name, "--set-password: " + problem);
        if (surroundings.InIsTerminal && surroundings.ErrorIsTerminal && Asked(surroundings, "The same again:") != password) return surroundings.Refuse(Name, "--set-password: the two are not the same; nothing was set");
        PagePassword.Write(file, password);
        surroundings.Error.WriteLine($"The page's password is set ({file} holds a hash of it); who is signed in must sign in anew.");
        return ExitCode.Done;
    }

    private static string Asked(Surroundings surroundings, string what) =>
        Terminals.Make(surroundings.Error, surroundings.ErrorIsTerminal, surroundings).Prompt(new TextPrompt<string>(what).Secret(null).AllowEmpty());
}
