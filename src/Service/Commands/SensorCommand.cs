using System.CommandLine;
using System.Globalization;
using System.Runtime.InteropServices;
using Acquire.Acquisition;
using Acquire.Service.Capture;
using Acquire.Service.Display;
using Acquire.Service.Sensor;

namespace Acquire.Service.Commands;

/// <summary><c>acquire sensor</c>: aim a sensor and check it before a launch.</summary>
internal static class SensorCommand
{
    private const double MostSeconds = 3600;
    private const int MostTurns = 10_000;
    private static readonly string[] Settings = ["--port", "--gpio", "--gpio-edge", "--gpio-widths", "--gpio-bias", "--baud", "--format", "--tick-hz", "--marks", "--max-rpm", "--time-scale"];

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command(
            "sensor",
            "Watch a sensor while you aim it and turn the body by hand: pulses, widths, lamp light, losses, and what to change. Exits with 1 where it is not fit for a launch.");
        Dictionary<CaptureSetting, Option<string>> options = CaptureCommand.Add(command, CaptureSettings.All.Where(s => Settings.Contains(s.Option)));
        var seconds = new Option<string>("--seconds") { HelpName = "S", Description = "How long to watch, from the first sign of life on; Ctrl-C ends it sooner. A number from 1 to 3600. [default: 10]" };
        var turns = new Option<string>("--turns") { HelpName = "N", Description = "How many whole turns you turn the body by hand meanwhile; the pulses are held against that. A whole number from 1 to 10000." };
        var json = new Option<bool>("--json") { Description = "Print one JSON document." };
        command.Options.Add(seconds);
        command.Options.Add(turns);
        command.Options.Add(json);
        command.SetAction(call => Run(
            surroundings, CaptureCommand.Given(call, options), call.GetValue(seconds) ?? "10", call.GetValue(turns), call.GetValue(json)));
        HelpText.Attach(command, ["acquire sensor --port /dev/ttyACM0", "acquire sensor --port COM3 --marks 2 --turns 20 --seconds 30", "acquire sensor --gpio list", "acquire sensor --gpio pinctrl-rp1:GPIO17 --gpio-widths true", "acquire sensor --port /dev/ttyUSB0 --json"]);
        return command;
    }

    private static int Run(Surroundings surroundings, Dictionary<string, string?> given, string secondsText, string? turnsText, bool json)
    {
        var problems = new List<string>();
        if (!double.TryParse(secondsText, NumberStyles.Float, CultureInfo.InvariantCulture, out double seconds) || !(seconds is >= 1 and <= MostSeconds))
            problems.Add($"--seconds: '{secondsText}' on the command line; allowed is a number from 1 to {MostSeconds}");
        int? turns = null;
        if (turnsText is not null)
        {
            bool whole = int.TryParse(turnsText, NumberStyles.None, CultureInfo.InvariantCulture, out int number) && number is >= 1 and <= MostTurns;
            if (!whole)
                problems.Add($"--turns: '{turnsText}' on the command line; allowed is a whole number from 1 to {MostTurns}");
            turns = number;
        }

        if (CaptureConfiguration.Load(surroundings, given, out string? unreadable) is not { } configuration)
            return surroundings.Refuse("sensor", unreadable!);
        (CaptureOptions options, IReadOnlyList<string> wrong) = configuration.Read();
        problems.AddRange(wrong);
        if (options.Port.Length + options.Gpio.Length == 0)
            problems.Add(CaptureCommand.PortsHere());
        if (problems.Count == 0 && options.Gpio == GpioList.Word)
            return GpioList.Print(surroundings);
        return problems.Count > 0 ? surroundings.Refuse("sensor", problems) : Watch(surroundings, options, seconds, turns, json);
    }

    private static int Watch(Surroundings surroundings, CaptureOptions options, double seconds, int? turns, bool json)
    {
        TimeProvider time = options.TimeScale == 1 ? surroundings.Time : new ScaledTimeProvider(surroundings.Time, options.TimeScale);
        using var ended = CancellationTokenSource.CreateLinkedTokenSource(surroundings.Stop);
        using PosixSignalRegistration interrupt = OnSignal(PosixSignal.SIGINT, ended);
        using PosixSignalRegistration terminate = OnSignal(PosixSignal.SIGTERM, ended);
        using PosixSignalRegistration hangUp = OnSignal(PosixSignal.SIGHUP, ended);
        using LinkPulseSource source = CaptureCommand.MakeSource(options, wait: false, time);
        var aim = new SensorAim(options.Marks, options.MaxRpm, turns);
        var watch = new SensorWatch(options, source, time, seconds);
        var line = new LiveLine(surroundings);
        SensorView view = watch.Run((recent, leftS) => line.Show(() => SensorAnswer.Live(SensorJudge.Judge(recent(), aim), leftS)), ended.Token);
        line.Clear();
        if (!watch.IsLinked && Refuse(surroundings, source.Problem, watch.WasLinked) is { } refused)
            return ended.IsCancellationRequested ? ExitCode.EndedByUser : refused;

        SensorReport report = SensorJudge.Judge(view, aim);
        if (json)
            SensorAnswer.WriteJson(surroundings.Out, report, watch.Source);
        else
            SensorAnswer.WriteText(surroundings.Out, report, watch.Source);
        if (ended.IsCancellationRequested)
            return ExitCode.EndedByUser;
        return report.Fit ? ExitCode.Done : ExitCode.No;
    }

    private static int? Refuse(Surroundings surroundings, LinkProblem? problem, bool wasLinked)
    {
        if (problem is null)
            return null;
        surroundings.Error.WriteLine((wasLinked ? "acquire sensor: the link went away while it was watched. " : "acquire sensor: ") + problem.Message);
        return !wasLinked && PortWatch.IsWrongCall(problem.Kind) ? ExitCode.WrongCall : ExitCode.Failed;
    }

    private static PosixSignalRegistration OnSignal(PosixSignal signal, CancellationTokenSource ended) => PosixSignalRegistration.Create(signal, raised =>
    {
        raised.Cancel = true;
        ended.Cancel();
    });
}
