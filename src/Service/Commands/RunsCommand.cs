using System.CommandLine;
using System.Globalization;
using Acquire.Recording;
using Acquire.Service.Display;
using Spectre.Console;

namespace Acquire.Service.Commands;

/// <summary><c>acquire runs</c>: lists the runs of a library.</summary>
internal static class RunsCommand
{
    private const string StartFormat = "yyyy-MM-dd HH:mm:ss";

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("runs", "List the runs of a library by their start.");
        var library = new LibraryOption();
        var json = new Option<bool>("--json") { Description = "Print one JSON document." };
        command.Options.Add(library.Option);
        command.Options.Add(json);
        command.SetAction(call => Run(call, library, call.GetValue(json), surroundings));
        HelpText.Attach(command, ["acquire runs", "acquire runs --library spins --json"]);
        return command;
    }

    private static int Run(ParseResult call, LibraryOption option, bool json, Surroundings surroundings)
    {
        if (option.Folder(call, surroundings, out string? problem) is not { } library) return surroundings.Refuse("runs", problem!);
        IReadOnlyList<LibraryRun> all = RunLibrary.List(library);
        foreach (LibraryRun run in all.Where(r => r.Descriptor is null))
            surroundings.Error.WriteLine($"acquire runs: {run.Name} cannot be read: {run.Problem}");
        (string Name, RunDescriptor Descriptor)[] readable = [.. all.Where(r => r.Descriptor is not null).Select(r => (r.Name, r.Descriptor!))];
        if (json) JsonAnswer.Write(surroundings.Out, writer => RunsJson.Write(writer, readable));
        else if (all.Count == 0) surroundings.Error.WriteLine($"No runs in {library} yet.");
        else if (readable.Length > 0) WriteTable(readable, surroundings);
        return ExitCode.Done;
    }

    private static void WriteTable((string Name, RunDescriptor Descriptor)[] runs, Surroundings surroundings)
    {
        var table = new TextTable("run", "started (UTC)", "top", "base", "cover", "factors", "spin time", "peak/rpm", "end");
        table.AlignRight("spin time", "peak/rpm");
        foreach ((string name, RunDescriptor run) in runs)
        {
            table.Add(
                name,
                run.StartedAt.UtcDateTime.ToString(StartFormat, CultureInfo.InvariantCulture),
                run.Setup.Top,
                run.Setup.Base,
                run.Setup.Cover,
                string.Join(' ', run.Setup.Factors.Select(f => string.Create(CultureInfo.InvariantCulture, $"{f.Key}={f.Value}"))),
                Numbers.ClockTenths(run.Result.SpinTimeS),
                Numbers.Measured(run.Result.PeakRpm, run.Result.UPeakRpm),
                run.EndReason + (run.Spoilt is null ? "" : ", spoilt"));
        }

        table.Write(surroundings);
    }
}
