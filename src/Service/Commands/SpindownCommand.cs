using System.CommandLine;
using Acquire.Recording;
using Acquire.Results;
using Acquire.Service.Display;
using Acquire.Service.Plots;
using Acquire.Service.Reports;
using Acquire.Service.Runs;

namespace Acquire.Service.Commands;

/// <summary><c>acquire spindown</c>: how runs slow down between two speeds, and by which losses.</summary>
internal sealed class SpindownCommand
{
    private readonly RunSelection _selection = new(named: true);
    private readonly SpeedRangeOptions _range = new();
    private readonly DragOptions _drag = new();
    private readonly AnswerOptions _answers = new();
    private readonly Option<string> _bands = new("--bands")
    {
        HelpName = "RPM,RPM,…",
        Description = "Speeds, falling, at which one band ends and the next begins. [default: six or more bands at round speeds]",
    };

    private SpindownCommand()
    {
    }

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("spindown", "Tell how runs slow down: time between two speeds and in bands of speed, the loss law and the share of its terms; with a body its torque and power.");
        var spindown = new SpindownCommand();
        spindown._selection.AddTo(command);
        spindown._range.AddTo(command);
        command.Options.Add(spindown._bands);
        spindown._drag.AddTo(command);
        spindown._answers.AddTo(command);
        command.SetAction(call => spindown.Run(call, surroundings));
        HelpText.Attach(command,
        [
            "acquire spindown 20270314T092653Z-oak-rim --plot losses.png",
            "acquire spindown --where top=oak-rim --from 1500 --to 300 --report losses.html",
            "acquire spindown 20270314T092653Z-oak-rim --rotor oak-rim.json --clearance 4 --json",
        ]);
        return command;
    }

    private int Run(ParseResult call, Surroundings surroundings)
    {
        var problems = new List<string>();
        Func<RunData, DragBody?>? body = _drag.Read(call, surroundings, problems);
        string? problem = problems.Count > 0 ? problems[0] : null;
        if (body is null || _answers.Read(call, surroundings, out problem) is not { } answers || _range.Read(call, out problem) is not { } range
            || Bands(call.GetValue(_bands), range, out problem) is not { } bands || _selection.Select(call, surroundings, out problem) is not { } chosen)
            return surroundings.Refuse("spindown", problems.Count > 0 ? problems : [problem!]);
        string[] wrong = [.. chosen.Select(r => SpindownRun.Problem(r, range.FromRpm, range.ToRpm)).OfType<string>()];
        if (wrong.Length > 0) return surroundings.Refuse("spindown", wrong);
        try
        {
            SpindownRun[] runs = [.. chosen.Select(r => SpindownRun.Of(r, bands, body(r)))];
            return Answer(runs, answers, surroundings);
        }
        catch (RunFormatException e)
        {
            return surroundings.Refuse("spindown", e.Message);
        }
    }

    private static int Answer(SpindownRun[] runs, Answers answers, Surroundings surroundings)
    {
        foreach (SpindownRun run in runs)
        {
            foreach (SpinGap gap in run.Spin.Gaps)
                surroundings.Error.WriteLine($"acquire spindown: {run.Run.Name}: the signal was lost within the interval, {SpindownRun.Words(gap)}; both ends were seen, so that the time between them stands");
        }

        if (answers.Json) JsonAnswer.Write(surroundings.Out, writer => SpindownJson.Write(writer, runs));
        else foreach (SpindownRun run in runs) SpindownText.Write(surroundings, run);
        return answers.WriteFiles(surroundings, file => LossPlot.Write(file, runs), file => SpindownReport.Write(file, runs));
    }

    private static IReadOnlyList<SpeedBand>? Bands(string? text, SpeedRange range, out string? problem)
    {
        problem = null;
        if (text is null) return SpeedBands.Between(range.FromRpm, range.ToRpm);
        var edges = new List<double> { range.FromRpm };
        foreach (string part in text.Split(','))
        {
            if (SpeedRangeOptions.Speed("--bands", part.Trim(), 0, out problem) is not { } rpm) return null;
            if (rpm > range.FromRpm || rpm < range.ToRpm || (rpm >= edges[^1] && edges.Count > 1))
            {
                problem = $"--bands: '{text}'; allowed are falling speeds from {range.FromRpm} to {range.ToRpm} rpm (--from, --to)";
                return null;
            }

            if (rpm < edges[^1]) edges.Add(rpm);
        }

        if (edges[^1] > range.ToRpm) edges.Add(range.ToRpm);
        return SpeedBands.At(edges);
    }
}
