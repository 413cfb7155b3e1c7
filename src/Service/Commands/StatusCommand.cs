using System.CommandLine;
using System.Net.Sockets;
using System.Text.Json;
using Acquire.Service.Capture;
using Acquire.Service.Display;

namespace Acquire.Service.Commands;

/// <summary><c>acquire status</c>: asks the capture of a library how it is.</summary>
internal static class StatusCommand
{
    private static readonly TimeSpan Wait = TimeSpan.FromSeconds(3);

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command(
            "status",
            "Ask the capture of a library how it is: phase, speed, last pulse, port, losses, room, recovery, last error. Exits with 1 where none runs or something is wrong.");
        var library = new LibraryOption();
        var json = new Option<bool>("--json") { Description = "Print one JSON document." };
        command.Options.Add(library.Option);
        command.Options.Add(json);
        command.SetAction(call => Run(call, library, call.GetValue(json), surroundings));
        HelpText.Attach(command, ["acquire status", "acquire status --library /var/lib/acquire --json"]);
        return command;
    }

    private static int Run(ParseResult call, LibraryOption option, bool json, Surroundings surroundings)
    {
        if (option.Folder(call, surroundings, out string? problem) is not { } library) return surroundings.Refuse("status", problem!);
        CaptureStatus? status = Ask(library, surroundings, out string? failure);
        if (status is null)
        {
            surroundings.Error.WriteLine("acquire status: " + failure);
            return ExitCode.Failed;
        }

        if (json) surroundings.Out.Write(JsonSerializer.Serialize(status, StatusJson.Status) + "\n");
        else StatusText.Write(surroundings, status);
        surroundings.Out.Flush();
        return status.Well ? ExitCode.Done : ExitCode.No;
    }

    /// <summary>Asks the capture of a library.</summary>
    internal static CaptureStatus? Ask(string library, Surroundings surroundings, out string? failure)
    {
        string path = StatusSocket.PathIn(library);
        failure = StatusSocket.WhyNot(path);
        if (failure is not null) return null;
        try
        {
            return StatusSocket.Ask(path, Wait, surroundings.Time);
        }
        catch (SocketException e) when (e.SocketErrorCode == SocketError.AccessDenied)
        {
            failure = $"{path} may not be opened: join the group that the library belongs to, or ask as its owner";
            return null;
        }
        catch (SocketException)
        {
            return Silent(library, $"no capture runs in {library}{LeftBehind(library)}");
        }
        catch (OperationCanceledException)
        {
            return Silent(library, $"the capture in {library} did not answer within {Wait.TotalSeconds:F0} s");
        }
        catch (JsonException)
        {
            return Silent(library, $"what answered at {path} is no capture of this version");
        }
    }

    private static CaptureStatus Silent(string library, string problem) =>
        new() { Running = false, Well = false, Problems = [problem], Library = library };

    private static string LeftBehind(string library)
    {
        string open = Path.Combine(library, CaptureJournals.OpenFolder);
        int journals = Directory.Exists(open) ? Directory.GetFiles(open, "*.journal").Length : 0;
        return journals == 0 ? "" : "; the last one was cut short, and what it saw is kept: acquire recover, or the next capture, makes runs of it";
    }
}
