using System.CommandLine;
using System.Text.Json;
using Acquire.Recording;
using Acquire.Results.Forecasting;
using Acquire.Service.Forecasting;
using Acquire.Service.Plots;
using Acquire.Service.Reports;
using Acquire.Service.Runs;

namespace Acquire.Service.Commands;

/// <summary><c>acquire forecast</c>: when a spin ends, where its time goes, and how long another would last.</summary>
internal sealed class ForecastCommand
{
    private readonly Surroundings _surroundings;
    private readonly Argument<string?> _run = new("run") { HelpName = "RUN", Description = "The run's folder, or its name in the library.", Arity = ArgumentArity.ZeroOrOne };
    private readonly LibraryOption _library = new();
    private readonly NumberOption _until = new("--until", "S", "As it stood so many seconds after the release: nothing seen later is used. [default: all that was seen]", 0, 1e7, "s");
    private readonly Option<bool> _live = new("--live") { Description = "The spin under way instead of a run: asks the capture of the library; on a terminal goes on until the spin ends." };
    private readonly Option<bool> _asked = new(ForecastProcess.Option) { Hidden = true };
    private readonly ForecastOptions _options = new();
    private readonly AnswerOptions _answers = new();

    private ForecastCommand(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("forecast", "Tell when a spin ends, where its time goes by bands of speed, and how long one from another speed, of another body or with less loss would last.");
        var forecast = new ForecastCommand(surroundings);
        command.Arguments.Add(forecast._run);
        command.Options.Add(forecast._library.Option);
        command.Options.Add(forecast._until.Option);
        command.Options.Add(forecast._live);
        command.Options.Add(forecast._asked);
        forecast._options.AddTo(command);
        forecast._answers.AddTo(command);
        command.SetAction(forecast.Run);
        HelpText.Attach(command,
        [
            "acquire forecast 20270314T092653Z-oak-rim --until 600 --plot forecast.png",
            "acquire forecast --live --library runs",
            "acquire forecast 20270314T092653Z-oak-rim --start 3000 --loss 3000-1500=-10",
            "acquire forecast 20270314T092653Z-oak-rim --rotor oak-rim.json --what-if rim.material=tungsten-alloy --json",
        ]);
        return command;
    }

    private int Run(ParseResult call)
    {
        if (call.GetValue(_asked)) return AnswerCapture();
        var problems = new List<string>();
        double? until = _until.Read(call, problems);
        ForecastCall? asked = _options.Read(call, _surroundings, problems);
        string? problem = problems.Count > 0 ? problems[0] : null;
        if (asked is null || problems.Count > 0 || _answers.Read(call, _surroundings, out problem) is not { } answers || Folder(call, out problem) is not { } folder)
            return _surroundings.Refuse("forecast", problems.Count > 0 ? problems : [problem!]);
        if (call.GetValue(_live)) return new LiveAnswer(_surroundings, folder, asked.End).Run(answers.Json);
        try
        {
            return RunForecast.Of(RunData.Read(folder), until, asked.End, out problem) is { } found
                ? Answer(new ForecastText(found, asked), answers) : _surroundings.Refuse("forecast", problem!);
        }
        catch (RunFormatException e)
        {
            return _surroundings.Refuse("forecast", e.Message);
        }
    }

    private int AnswerCapture()
    {
        try
        {
            ForecastProcess.Answer(_surroundings.In, _surroundings.Out);
            return ExitCode.Done;
        }
        catch (RunFormatException e)
        {
            return _surroundings.Refuse("forecast", e.Message);
        }
    }

    // The run's folder, or the library of the capture that is asked.
    private string? Folder(ParseResult call, out string? problem)
    {
        if (call.GetValue(_live))
        {
            bool alone = call.GetValue(_run) is null && call.GetValue(_until.Option) is null && !_options.IsOther(call) && call.GetResult("--plot") is null && call.GetResult("--report") is null;
            problem = "--live is about the spin under way and takes --library, --json and --rotor or --end; once the run is saved, all else can be asked of it";
            return alone ? _library.Folder(call, _surroundings, out problem) : null;
        }

        if (call.GetValue(_run) is { } run)
            return _library.Folder(call, _surroundings, out problem) is { } library ? LibraryOption.Run(run, library, _surroundings, out problem) : null;
        problem = "which run? Name it, or ask for the spin under way with --live";
        return null;
    }

    private int Answer(ForecastText text, Answers answers)
    {
        if (answers.Json) JsonAnswer.Write(_surroundings.Out, writer => WriteJson(writer, text));
        else text.Write(_surroundings);
        return answers.WriteFiles(_surroundings, file => ForecastPlot.Write(file, text), file => Report(text).Write(file));
    }

    private static HtmlReport Report(ForecastText text)
    {
        var report = new HtmlReport(text.Title);
        report.Table(["what", "how much"], text.Facts().Select(f => (string[])[f.Label, f.Value]));
        ForecastPlot.AddTo(report, text);
        report.Section("Where the time goes").Table(ForecastText.BandHeadings, text.BandRows());
        foreach (string remark in text.Remarks()) report.Paragraph(remark);
        return report;
    }

    private static void WriteJson(Utf8JsonWriter writer, ForecastText text)
    {
        SpinForecast forecast = text.Of.Forecast;
        writer.WriteStartObject();
        writer.WriteNumber("atS", text.Of.AtS);
        writer.WriteNumber("remainingS", text.Of.RemainingS.Median);
        writer.WriteNumber("lowS", text.Of.RemainingS.Low);
        writer.WriteNumber("highS", text.Of.RemainingS.High);
        writer.WriteNumber("endRpm", forecast.EndRpm.Median);
        writer.WriteNumber("endLowRpm", forecast.EndRpm.Low);
        writer.WriteNumber("endHighRpm", forecast.EndRpm.High);
        writer.WriteString("endFrom", ForecastWords.Key(forecast.End.Basis));
        writer.WriteNumber("nowRpm", forecast.NowRpm);
        Whole(writer, "wholeSpin", text.Of.StartRpm, text.WholeS);
        if (text.AskedS is { } asked) Whole(writer, "asked", text.AskedRpm, asked);
        if (text.GainS is { } gain) Times(writer, "gain", gain);
        writer.WriteStartArray("bands");
        foreach (BandShare band in text.Bands)
        {
            writer.WriteStartObject();
            writer.WriteNumber("fromRpm", band.Band.FromRpm);
            writer.WriteNumber("toRpm", band.Band.ToRpm);
            writer.WriteNumber("timeS", band.TimeS.Median);
            writer.WriteNumber("lowS", band.TimeS.Low);
            writer.WriteNumber("highS", band.TimeS.High);
            writer.WriteNumber("tenthLessLossS", band.TenthLessS);
            writer.WriteNumber("dryShare", band.Dry);
            writer.WriteNumber("viscousShare", band.Viscous);
            writer.WriteNumber("airShare", band.Air);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteEndObject();
    }

    private static void Whole(Utf8JsonWriter writer, string name, double startRpm, Spread timeS)
    {
        writer.WriteStartObject(name);
        writer.WriteNumber("startRpm", startRpm);
        Numbers(writer, timeS);
        writer.WriteEndObject();
    }

    private static void Times(Utf8JsonWriter writer, string name, Spread timeS)
    {
        writer.WriteStartObject(name);
        Numbers(writer, timeS);
        writer.WriteEndObject();
    }

    private static void Numbers(Utf8JsonWriter writer, Spread timeS)
    {
        writer.WriteNumber("timeS", timeS.Median);
        writer.WriteNumber("lowS", timeS.Low);
        writer.WriteNumber("highS", timeS.High);
    }
}
