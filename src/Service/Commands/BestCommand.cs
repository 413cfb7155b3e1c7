using System.CommandLine;
using System.Globalization;
using System.Text.Json;
using Acquire.Recording;
using Acquire.Results.Best;
using Acquire.Results.Losses;
using Acquire.Service.Display;
using Acquire.Service.Runs;

namespace Acquire.Service.Commands;

/// <summary><c>acquire best</c>: the longest spins, how far they are from a target, and what limits them.</summary>
internal sealed class BestCommand
{
    private const int UsualCount = 5;
    private readonly Surroundings _surroundings;
    private readonly Option<string> _target = new("--target") { HelpName = "TIME", Description = "The time to be reached: h:mm:ss, mm:ss or seconds, such as 1:30:00." };
    private readonly NumberOption _count = new("--count", "N", "For how many of them it is worked out what limits them. [default: 5]", 0, 1000, "");
    private readonly Option<bool> _json = new("--json") { Description = "Print one JSON document." };
    private readonly RunSelection _selection = new(named: false, leavesOutSpoilt: true);

    private BestCommand(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("best", "Show the longest spin of each top and set-up, its gap to a target, what limits it.");
        var best = new BestCommand(surroundings);
        foreach (Option option in (Option[])[best._target, best._count.Option]) command.Options.Add(option);
        best._selection.AddTo(command);
        command.Options.Add(best._json);
        command.SetAction(best.Run);
        HelpText.Attach(command, ["acquire best", "acquire best --target 1:30:00", "acquire best --where top=oak-rim --since 2027-03-01 --count 1 --json"]);
        return command;
    }

    private int Run(ParseResult call)
    {
        var problems = new List<string>();
        double? target = Target(call, problems);
        int count = (int)(_count.Read(call, problems) ?? UsualCount);
        if (problems.Count > 0) return _surroundings.Refuse("best", problems);
        if (_selection.Listed(call, _surroundings, out string? problem) is not { } runs) return _surroundings.Refuse("best", problem!);
        IReadOnlyList<BestSpin> spins = BestSpin.Of(runs);
        if (spins.Count == 0) return _surroundings.Refuse("best", $"none of the {runs.Count} runs has a spin time");
        foreach ((string run, string why) in _selection.LeftOut) _surroundings.Error.WriteLine($"acquire best: {run} is left out: {why}");
        try
        {
            var text = new BestText([.. spins.Select((s, i) => i < count ? s.WorkedOut() : s)], target);
            if (call.GetValue(_json)) JsonAnswer.Write(_surroundings.Out, writer => WriteJson(writer, text));
            else text.Write(_surroundings);
            return ExitCode.Done;
        }
        catch (RunFormatException e)
        {
            return _surroundings.Refuse("best", e.Message);
        }
    }

    private double? Target(ParseResult call, List<string> problems)
    {
        if (call.GetValue(_target) is not { } text) return null;
        string[] parts = text.Split(':');
        double seconds = 0;
        bool isTime = parts.Length <= 3;
        for (int i = 0; i < parts.Length && isTime; i++)
        {
            NumberStyles style = i == parts.Length - 1 ? NumberStyles.AllowDecimalPoint : NumberStyles.None;
            isTime = double.TryParse(parts[i], style, CultureInfo.InvariantCulture, out double part) && (i == 0 || part < 60);
            seconds = (60 * seconds) + part;
        }

        if (isTime && seconds is > 0 and <= 1e7) return seconds;
        problems.Add($"--target: '{text}' on the command line; allowed is a time as h:mm:ss, mm:ss or seconds, such as 1:30:00");
        return null;
    }

    private static void WriteJson(Utf8JsonWriter writer, BestText text)
    {
        writer.WriteStartObject();
        if (text.TargetS is { } target) writer.WriteNumber("targetS", target);
        else writer.WriteNull("targetS");
        writer.WriteStartArray("spins");
        foreach (BestSpin spin in text.Spins) Write(writer, spin, text.TargetS);
        writer.WriteEndArray();
        writer.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter writer, BestSpin spin, double? targetS)
    {
        RunDescriptor run = spin.Descriptor;
        writer.WriteStartObject();
        writer.WriteString("run", spin.Run.Name);
        writer.WriteString("top", run.Setup.Top);
        writer.WriteString("base", run.Setup.Base);
        writer.WriteString("cover", run.Setup.Cover);
        writer.WriteString("operator", run.Setup.Operator);
        writer.WriteStartObject("factors");
        foreach ((string factor, double value) in run.Setup.Factors) writer.WriteNumber(factor, value, orNull: true);
        writer.WriteEndObject();
        writer.WriteNumber("runs", spin.Runs);
        writer.WriteNumber("spinTimeS", run.Result.SpinTimeS);
        writer.WriteNumber("uSpinTimeS", run.Result.USpinTimeS, orNull: true);
        writer.WriteBoolean("endSeen", spin.EndSeen);
        writer.WriteString("endReason", run.EndReason);
        writer.WriteNumber("peakRpm", run.Result.PeakRpm, orNull: true);
        writer.WriteNumber("lastRpm", run.Result.LastRpm, orNull: true);
        if (targetS is { } target)
        {
            writer.WriteNumber("gapS", target - run.Result.SpinTimeS);
            if (spin.Reached(target) is { } reached) writer.WriteBoolean("reached", reached);
            else writer.WriteNull("reached");
        }

        if (spin.IsWorkedOut) Limits(writer, spin);
        writer.WriteEndObject();
    }

    private static void Limits(Utf8JsonWriter writer, BestSpin spin)
    {
        writer.WriteStartObject("limits");
        Gain(writer, "launch", spin.LaunchGain, spin.BestLaunch, spin.BestLaunch.Descriptor!.Result.PeakRpm);
        Gain(writer, "fall", spin.FallGain, spin.LowestFall, spin.LowestFall?.Descriptor!.Result.LastRpm ?? double.NaN);
        writer.WriteNumber("clockS", spin.Descriptor.Budget?.ClockS ?? double.NaN, orNull: true);
        writer.WriteString("hostClock", spin.Descriptor.Clock.HostClock);
        writer.WriteBoolean("followsLaw", spin.FollowsLaw);
        writer.WriteStartArray("bands");
        foreach (BandLoss band in spin.Bands)
        {
            writer.WriteStartObject();
            writer.WriteNumber("fromRpm", band.Band.FromRpm);
            writer.WriteNumber("toRpm", band.Band.ToRpm);
            writer.WriteNumber("timeS", band.TimeS, orNull: true);
            Share(writer, "tip", band.Tip);
            Share(writer, "viscous", band.Viscous);
            Share(writer, "air", band.Air);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteEndObject();
    }

    private static void Gain(Utf8JsonWriter writer, string name, GainedTime? gain, LibraryRun? by, double rpm)
    {
        if (gain is null)
        {
            writer.WriteNull(name);
            return;
        }

        writer.WriteStartObject(name);
        writer.WriteString("run", by!.Name);
        writer.WriteNumber("rpm", rpm);
        writer.WriteNumber("gainS", gain.Seconds, orNull: true);
        writer.WriteNumber("lowS", gain.LowS);
        writer.WriteNumber("highS", gain.HighS, orNull: true);
        writer.WriteBoolean("extended", gain.IsExtended);
        writer.WriteEndObject();
    }

    private static void Share(Utf8JsonWriter writer, string name, Estimate share)
    {
        writer.WriteNumber(name + "Percent", 100 * share.Value, orNull: true);
        writer.WriteNumber($"u{char.ToUpperInvariant(name[0])}{name[1..]}Percent", 100 * share.U, orNull: true);
    }
}
