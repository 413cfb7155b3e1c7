using System.CommandLine;
using System.Text.Json;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Display;
using Acquire.Service.Plots;
using Acquire.Service.Reports;

namespace Acquire.Service.Commands;

/// <summary><c>acquire show</c>: one run in words, and its plot.</summary>
internal static class ShowCommand
{
    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("show", "Show a run: set-up, source, clock, counts, result and events; and draw its speed.");
        var run = new Argument<string>("run") { HelpName = "RUN", Description = "The run's folder, or its name in the library." };
        var library = new LibraryOption();
        var plot = new Option<string>("--plot")
        {
            HelpName = "FILE",
            Description = "Where the plot goes, .png or .svg, outside the run's folder. [default: RUN-speed.png in the current folder]",
        };
        var json = new Option<bool>("--json") { Description = "Print the descriptor's object acquire; draw only where --plot is given." };
        var report = new Option<bool>("--report") { Description = "Make the run's report.html anew, after an edit say, and nothing else." };
        command.Arguments.Add(run);
        command.Options.Add(library.Option);
        command.Options.Add(plot);
        command.Options.Add(json);
        command.Options.Add(report);
        command.SetAction(call =>
        {
            if (library.Folder(call, surroundings, out string? problem) is not { } folder) return surroundings.Refuse("show", problem!);
            if (call.GetValue(report) && (call.GetValue(json) || call.GetValue(plot) is not null)) return surroundings.Refuse("show", "--report makes the run's page and nothing else: no --json and no --plot beside it");
            return LibraryOption.Run(call.GetRequiredValue(run), folder, surroundings, out problem) is { } found
                ? call.GetValue(report) ? Report(found, surroundings) : Show(found, call.GetValue(plot), call.GetValue(json), surroundings)
                : surroundings.Refuse("show", problem!);
        });
        HelpText.Attach(command, ["acquire show 20270314T092653Z-oak-rim --plot oak-rim.svg", "acquire show spins/20270314T092653Z-oak-rim --json", "acquire show 20270314T092653Z-oak-rim --report"]);
        return command;
    }

    private static int Show(string folder, string? plot, bool json, Surroundings surroundings)
    {
        string name = Path.GetFileName(folder);
        string plotFile = surroundings.FullPath(plot ?? name + "-speed.png");
        if (PlotProblem(plotFile, folder) is { } wrong) return surroundings.Refuse("show", wrong);
        try
        {
            RunDescriptor run = RunPackageReader.ReadDescriptor(folder);
            if (json) WriteJson(folder, surroundings.Out);
            else RunText.Write(surroundings, name, run, RunPackageReader.ReadEvents(folder), RunPackageReader.ReadEnvironment(folder));
            return json && plot is null ? ExitCode.Done : Draw(plotFile, run, RunPackageReader.ReadSpeed(folder), json ? surroundings.Error : surroundings.Out, surroundings);
        }
        catch (RunFormatException e)
        {
            return surroundings.Refuse("show", e.Message);
        }
    }

    private static int Report(string folder, Surroundings surroundings)
    {
        try
        {
            surroundings.Out.WriteLine(RunReport.Write(folder));
            surroundings.Out.Flush();
            return ExitCode.Done;
        }
        catch (RunFormatException e)
        {
            return surroundings.Refuse("show", e.Message);
        }
        catch (Exception e) when (e is DllNotFoundException or TypeInitializationException)
        {
            surroundings.Error.WriteLine($"acquire show: the page cannot be drawn: {e.Message}");
            return ExitCode.Failed;
        }
    }

    private static string? PlotProblem(string file, string runFolder)
    {
        if (!SpeedPlot.IsPlotFile(file)) return $"--plot: '{file}'; allowed is a file that ends in .png or .svg";
        if (Path.GetDirectoryName(file) == runFolder) return $"--plot: '{file}' is in the run's folder, which is kept as it was written; allowed is any other folder";
        return Directory.Exists(Path.GetDirectoryName(file)) ? null : $"--plot: there is no folder '{Path.GetDirectoryName(file)}'";
    }

    private static void WriteJson(string folder, TextWriter output)
    {
        using JsonDocument document = JsonDocument.Parse(File.ReadAllBytes(Path.Combine(folder, "datapackage.json")));
        JsonElement acquire = document.RootElement.GetProperty("acquire");
        JsonAnswer.Write(output, acquire.WriteTo);
    }

    private static int Draw(string file, RunDescriptor run, IReadOnlyList<SpeedPoint> points, TextWriter answer, Surroundings surroundings)
    {
        try
        {
            SpeedPlot.Write(file, run, points);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or DllNotFoundException or TypeInitializationException)
        {
            surroundings.Error.WriteLine($"acquire show: the plot {file} cannot be written: {e.Message}");
            return ExitCode.Failed;
        }

        answer.WriteLine(file);
        answer.Flush();
        return ExitCode.Done;
    }
}
