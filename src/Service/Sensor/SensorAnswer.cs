using System.Globalization;
using System.Text.Json;
using Acquire.Service.Commands;
using Acquire.Service.Display;

namespace Acquire.Service.Sensor;

/// <summary>The final report, for people and for programs.</summary>
internal static class SensorAnswer
{
    private const int LabelColumns = 12;

    /// <summary>Writes the report for people.</summary>
    internal static void WriteText(TextWriter output, SensorReport report, string source)
    {
        foreach ((string label, string value) in Facts(report, source))
            output.Write($"{label.PadRight(LabelColumns)} {Lines.OneLine(value)}\n");
        output.Write('\n');
        foreach (SensorFault fault in report.Faults)
            output.Write($"{SensorWords.What(fault, report)}\n  {SensorWords.Change(fault)}\n");
        output.Write(report.Fit ? "Fit for a launch.\n" : "Not fit for a launch yet.\n");
        output.Flush();
    }

    /// <summary>Writes the one JSON document.</summary>
    internal static void WriteJson(TextWriter output, SensorReport report, string source) => JsonAnswer.Write(output, writer =>
    {
        writer.WriteStartObject();
        writer.WriteBoolean("fit", report.Fit);
        writer.WriteStartArray("faults");
        foreach (SensorFault fault in report.Faults)
        {
            writer.WriteStartObject();
            writer.WriteString("fault", JsonNamingPolicy.CamelCase.ConvertName(fault.ToString()));
            writer.WriteString("what", SensorWords.What(fault, report));
            writer.WriteString("change", SensorWords.Change(fault));
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteString("source", source);
        writer.WriteNumber("watchedS", Math.Round(report.View.WatchedS, 3));
        writer.WriteNumber("pulses", report.View.Pulses.Count);
        writer.WriteNumber("pulsesPerS", report.PulsesPerS);
        writer.WriteNumber("intervalS", report.IntervalS, orNull: true);
        writer.WriteNumber("intervalSpreadPercent", report.IntervalSpread * 100, orNull: true);
        writer.WriteNumber("intervalStepPercent", report.IntervalStep * 100, orNull: true);
        writer.WriteNumber("widthS", report.WidthS, orNull: true);
        writer.WriteNumber("widthSpreadPercent", report.WidthSpread * 100, orNull: true);
        writer.WriteNumber("widthOfTurnPercent", report.TurnShare * 100, orNull: true);
        writer.WriteNumber("widthOfTurnSpreadPercent", report.TurnShareSpread * 100, orNull: true);
        writer.WriteNumber("lampHz", report.LampHz ?? double.NaN, orNull: true);
        writer.WriteNumber("marks", report.Aim.Marks);
        writer.WriteNumber("repeatPulses", report.Repeat ?? double.NaN, orNull: true);
        writer.WriteNumber("pulsesPerTurn", PerTurn(report), orNull: true);
        writer.WriteNumber("tooClose", report.TooClose);
        writer.WriteNumber("badLines", report.View.Counts.BadLines);
        writer.WriteNumber("lostOnLine", report.View.Counts.LostOnLine);
        writer.WriteNumber("droppedByBoard", report.View.Counts.DroppedByBoard);
        writer.WriteNumber("restarts", report.View.Counts.Restarts);
        writer.WriteNumber("linkLosses", report.View.LinkLosses);
        writer.WriteEndObject();
    });

    /// <summary>The line that is shown while it is watched.</summary>
    internal static string Live(SensorReport report, double leftS)
    {
        string lamp = report.LampHz is { } hz ? Text($", lamp light at {hz:F1} Hz?") : "";
        return Text($"last {Math.Ceiling(report.View.WatchedS):F0} s: {SensorWords.Count(report.View.Pulses.Count, "pulse")}, {report.PulsesPerS:F1} a second, width {Ms(report.WidthS)}{lamp}; {Math.Ceiling(Math.Max(leftS, 0)):F0} s left");
    }

    private static IEnumerable<(string Label, string Value)> Facts(SensorReport report, string source)
    {
        yield return ("source", source);
        yield return ("pulses", Text($"{Numbers.Count(report.View.Pulses.Count)} in {report.View.WatchedS:F1} s, {report.PulsesPerS:F1} a second"));
        yield return ("intervals", double.IsNaN(report.IntervalS)
            ? Numbers.None
            : $"{Ms(report.IntervalS)} ± {Percent(report.IntervalSpread)}, {SensorWords.Regularity(report.IntervalStep)}");
        yield return ("width", double.IsNaN(report.WidthS) ? Numbers.None : $"{Ms(report.WidthS)} ± {Percent(report.WidthSpread)}");
        yield return ("of a turn", double.IsNaN(report.TurnShare) || report.LampHz is not null
            ? Numbers.None
            : Text($"{report.TurnShare * 360:F1}° ± {Percent(report.TurnShareSpread)}, if {SensorWords.Count(report.Aim.Marks, "mark")} a turn"));
        yield return ("lamp light", report.LampHz is { } hz ? Text($"{hz:F1} Hz") : "none seen");
        yield return ("marks", Marks(report));
        yield return ("line", $"{SensorWords.Count(report.View.Counts.BadLines, "bad line")}, {Numbers.Count(report.View.Counts.LostOnLine)} lost, "
            + $"{Numbers.Count(report.View.Counts.DroppedByBoard)} dropped by board");
    }

    private static string Marks(SensorReport report)
    {
        string said = $"{report.Aim.Marks} a turn said";
        if (report.Aim.Turns is int)
            return Text($"{said}, {PerTurn(report):0.##} counted");
        if (report.View.Pulses.Count < 8 || report.LampHz is not null)
            return said;
        return report.Repeat is int repeat ? $"{said}, the pulses repeat every {repeat}" : $"{said}; all alike, so only counting tells: --turns N";
    }

    private static double PerTurn(SensorReport report) =>
        report.Aim.Turns is int turns ? (double)(report.View.Pulses.Count - report.TooClose) / turns : double.NaN;

    private static string Ms(double seconds) => seconds switch
    {
        double.NaN => Numbers.None,
        >= 0.1 => Text($"{seconds:F2} s"),
        _ => Text($"{seconds * 1000:F2} ms"),
    };

    private static string Percent(double share) => double.IsNaN(share) ? Numbers.None : Text($"{share * 100:F0} %");

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
