using System.Globalization;
using Acquire.Service.Capture;
using Spectre.Console;

namespace Acquire.Service.Display;

/// <summary>The status of a capture in words.</summary>
internal static class StatusText
{
    private const int LabelColumns = 12;
    private const string Moment = "yyyy-MM-dd HH:mm:ss 'UTC'";

    /// <summary>Writes a status to standard output.</summary>
    public static void Write(Surroundings surroundings, CaptureStatus status)
    {
        IAnsiConsole console = Terminals.Make(surroundings.Out, surroundings.OutIsTerminal, surroundings);
        string verdict = !status.Running ? "not running" : status.Well ? "well" : "not well";
        console.MarkupLine($"[bold]{verdict}[/]");
        foreach (string problem in status.Problems) Fact(console, "problem", problem);
        if (status.Capture is not { } capture) return;
        foreach ((string label, string value) in Facts(status, capture)) Fact(console, label, value);
    }

    private static void Fact(IAnsiConsole console, string label, string value) =>
        console.MarkupLine($"  [grey]{Markup.Escape(label.PadRight(LabelColumns))}[/] {Markup.Escape(Lines.OneLine(value))}");

    private static IEnumerable<(string Label, string Value)> Facts(CaptureStatus status, CaptureFacts capture)
    {
        yield return ("capture", Text($"into {status.Library} since {Utc(capture.StartedAt)}, process {capture.ProcessId}, {capture.Software}"));
        yield return ("phase", $"{capture.Phase} since {Utc(capture.PhaseSince)}");
        if (capture.Rpm is { } rpm)
            yield return ("speed", $"{Numbers.Measured(rpm, capture.URpm ?? double.NaN)} ± {Numbers.Uncertainty(capture.URpm ?? double.NaN)} rpm");
        if (capture.SinceReleaseS is { } released)
            yield return ("released", $"{Numbers.Clock(released)} ago at {Numbers.Measured(capture.PeakRpm ?? double.NaN, double.NaN)} rpm");
        if (capture.Forecast is { } ahead) yield return ("ends in", LiveWords.Ends(ahead));
        yield return ("last pulse", Ago(capture.LastPulseAgoS));
        yield return ("last heard", Ago(capture.LastHeardAgoS));
        yield return ("port", $"{capture.Source}, {(capture.LinkUp ? "open" : "not open")}");
        yield return ("losses", Losses(capture.Losses));
        yield return ("room", $"{(capture.FreeBytes is { } free ? Numbers.Bytes(free) : Numbers.None)} free, {Numbers.Bytes(capture.JournalBytes)} in the journal");
        foreach (AirFacts air in capture.Air) yield return ("air", Air(air));
        if (capture.Plan is { } plan) yield return ("plan", plan);
        yield return ("runs", capture.LastRun is { } last ? $"{capture.FinishedRuns} saved, the last in {last}" : "none saved yet");
        yield return ("recovery", Recovery(capture.Recovery));
        foreach (string problem in capture.Recovery.Problems) yield return ("", problem);
        yield return ("threads", string.Join(", ", capture.Threads.Select(t => Text($"{t.Name} {(t.IsHung ? "hangs" : "lives")}"))));
        yield return ("last error", capture.LastError is { } error ? $"{error.Level} at {Utc(error.At)}: {error.Text}" : "none");
    }

    private static string Air(AirFacts air)
    {
        string said = LiveWords.Air(air.TemperatureC ?? double.NaN, air.PressureHpa ?? double.NaN, air.HumidityPct ?? double.NaN);
        return $"{air.Sensor}: {(said.Length > 0 ? said + ", " : "")}read {Ago(air.ReadAgoS)}{(air.LeftOut > 0 ? Text($", {air.LeftOut} left out") : "")}{(air.Problem is { } problem ? "; " + problem : "")}";
    }

    private static string Losses(CaptureLosses losses)
    {
        (string What, long Count)[] all =
        [
            ("marks missed in this run", losses.MissedMarks), ("bad lines", losses.BadLines), ("pulses lost on the line", losses.LostOnLine),
            ("pulses dropped by the board", losses.DroppedByBoard), ("bytes without room", losses.BytesWithoutRoom),
        ];
        string[] some = [.. all.Where(l => l.Count > 0).Select(l => $"{Numbers.Count(l.Count)} {l.What}")];
        return some.Length == 0 ? "none" : string.Join(", ", some);
    }

    private static string Recovery(RecoveryFacts recovery) => recovery.State switch
    {
        "underWay" => "under way",
        "failed" => "failed",
        _ => recovery.Runs == 0 && recovery.Problems.Count == 0 ? "nothing to recover"
            : recovery.Runs == 1 ? "1 run recovered" : Text($"{recovery.Runs} runs recovered"),
    };

    private static string Ago(double? seconds) => seconds switch
    {
        null => "none yet",
        < 10 => Text($"{seconds:F1} s ago"),
        _ => Numbers.Clock(seconds.Value) + " ago",
    };

    private static string Utc(DateTimeOffset at) => at.UtcDateTime.ToString(Moment, CultureInfo.InvariantCulture);

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
