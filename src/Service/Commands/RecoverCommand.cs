using System.CommandLine;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Reports;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Service.Commands;

/// <summary><c>acquire recover</c>: makes runs of what captures left that were cut short.</summary>
internal static class RecoverCommand
{
    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command(
            "recover",
            "Make runs of captures that were cut short (power, kill). A capture does the same when it starts. Exits with 1 where something could not be made into a run.");
        var library = new LibraryOption();
        command.Options.Add(library.Option);
        var asked = new Option<bool>(FinishProcess.Option) { Hidden = true };
        command.Options.Add(asked);
        command.SetAction(call => call.GetValue(asked) ? AnswerCapture(surroundings) : Run(call, library, surroundings));
        HelpText.Attach(command, ["acquire recover", "acquire recover --library spins"]);
        return command;
    }

    private static int AnswerCapture(Surroundings surroundings)
    {
        IDisposable[] signals = FinishProcess.LeaveSignals();
        try
        {
            FinishProcess.Answer(surroundings.In, surroundings.Out, () => Environment.Exit(ExitCode.Failed));
            return ExitCode.Done;
        }
        catch (Exception e) when (e is RunFormatException or InvalidDataException)
        {
            return surroundings.Refuse("recover", e.Message);
        }
        finally
        {
            foreach (IDisposable signal in signals) signal.Dispose();
        }
    }

    private static int Run(ParseResult call, LibraryOption option, Surroundings surroundings)
    {
        if (option.Folder(call, surroundings, out string? problem) is not { } library) return surroundings.Refuse("recover", problem!);
        using LibraryLock? held = LibraryLock.TryTake(library, out string holder);
        if (held is null)
        {
            surroundings.Error.WriteLine($"acquire recover: {library} is in use by {holder}, which recovers it as well.");
            return ExitCode.Failed;
        }

        RecoveryReport report = new Recovery(library, surroundings.Time, NullLogger.Instance).Run();
        foreach (string run in report.Runs)
        {
            if (RunReport.TryWrite(run) is { } without) surroundings.Error.WriteLine("acquire recover: " + without);
            surroundings.Out.WriteLine(run);
        }

        foreach (string what in report.Problems) surroundings.Error.WriteLine("acquire recover: " + what);
        if (report.Runs.Count + report.Problems.Count == 0) surroundings.Error.WriteLine($"Nothing to recover in {library}.");
        return report.Problems.Count == 0 ? ExitCode.Done : ExitCode.No;
    }
}
