using System.CommandLine;
using Acquire.Service.Commands;
using Acquire.Service.Plots;

namespace Acquire.Service.Runs;

/// <summary>The options <c>--json</c>, <c>--plot</c> and <c>--report</c> of the commands that give results.</summary>
internal sealed class AnswerOptions
{
    private readonly Option<bool> _json = new("--json") { Description = "Print one JSON document." };
    private readonly Option<string> _plot = new("--plot") { HelpName = "FILE", Description = "Write the picture, .png or .svg." };
    private readonly Option<string> _report = new("--report") { HelpName = "FILE", Description = "Write all of it as one self-contained page, .html." };

    /// <summary>Gives a command these options.</summary>
    public void AddTo(Command command)
    {
        command.Options.Add(_json);
        command.Options.Add(_plot);
        command.Options.Add(_report);
    }

    /// <summary>Reads them.</summary>
    /// <returns>Null with what is wrong in <paramref name="problem"/>.</returns>
    public Answers? Read(ParseResult call, Surroundings surroundings, out string? problem)
    {
        string? plot = call.GetValue(_plot) is { } p ? surroundings.FullPath(p) : null;
        string? report = call.GetValue(_report) is { } r ? surroundings.FullPath(r) : null;
        problem = Problem(_plot.Name, plot, ".png or .svg", PlotFile.IsPlotFile)
            ?? Problem(_report.Name, report, ".html", f => f.EndsWith(".html", StringComparison.OrdinalIgnoreCase));
        return problem is null ? new Answers(call.CommandResult.Command.Name, call.GetValue(_json), plot, report) : null;
    }

    // A run's folder is kept as it was written; only its own report may be added.
    private static string? Problem(string option, string? file, string endings, Func<string, bool> fits)
    {
        if (file is null) return null;
        string? folder = Path.GetDirectoryName(file);
        if (!fits(file)) return $"{option}: '{file}'; allowed is a file that ends in {endings}";
        if (!Directory.Exists(folder)) return $"{option}: there is no folder '{folder}'";
        bool isRun = File.Exists(Path.Combine(folder, "datapackage.json"));
        return isRun && Path.GetFileName(file) != RunCompanions.Report
            ? $"{option}: '{file}' is in a run's folder, which is kept as it was written; allowed is any other folder" : null;
    }
}

/// <summary>Files that may be added to a run's folder.</summary>
internal static class RunCompanions
{
    /// <summary>The run's report.</summary>
    public const string Report = "report.html";

    /// <summary>The same while it is written; left by a power cut it counts for nothing.</summary>
    public const string UnfinishedReport = ".report.html.new";
}

/// <summary>What a call wants its answer as.</summary>
/// <param name="Command">The command's name.</param>
/// <param name="Json">As a JSON document, not for people.</param>
/// <param name="PlotFile">Where the picture goes; null where none is wanted.</param>
/// <param name="ReportFile">Where the page goes; null where none is wanted.</param>
internal sealed record Answers(string Command, bool Json, string? PlotFile, string? ReportFile)
{
    /// <summary>Writes picture and page where wanted, and says their names: on standard output, beside JSON on standard error.</summary>
    /// <returns>One of <see cref="ExitCode"/>.</returns>
    public int WriteFiles(Surroundings surroundings, Action<string> writePlot, Action<string> writeReport)
    {
        foreach ((string? file, Action<string> write) in new[] { (PlotFile, writePlot), (ReportFile, writeReport) })
        {
            if (file is null) continue;
            try
            {
                write(file);
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException or DllNotFoundException or TypeInitializationException)
            {
                surroundings.Error.WriteLine($"acquire {Command}: {file} cannot be written: {e.Message}");
                return ExitCode.Failed;
            }

            (Json ? surroundings.Error : surroundings.Out).WriteLine(file);
        }

        surroundings.Out.Flush();
        return ExitCode.Done;
    }
}
