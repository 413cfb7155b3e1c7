using System.Globalization;
using Acquire.Service.Display;

namespace Acquire.Service.Sensor;

/// <summary>What a judgement says to people: what is wrong and what to change.</summary>
internal static class SensorWords
{
    /// <summary>What is wrong.</summary>
    internal static string What(SensorFault fault, SensorReport report) => fault switch
    {
        SensorFault.Silent => "The board says nothing.",
        SensorFault.Garbled => $"Nothing that the board says makes sense: {Numbers.Count(report.View.Counts.BadLines)} bad lines.",
        SensorFault.NothingSeen => "The link is there, but the sensor sees nothing.",
        SensorFault.TooFew => $"{Count(report.View.Pulses.Count, "pulse")}: too few to judge by.",
        SensorFault.Lamp => Text($"This looks like lamp light: {report.LampHz:F1} flashes a second, and they do not slow down."),
        SensorFault.Irregular => "The pulses come at random, not as marks of a body do.",
        SensorFault.Bounce => $"{Count(report.TooClose, "pulse")} followed another faster than a mark can: the edges bounce.",
        SensorFault.OtherMarks => $"The pulses repeat every {report.Repeat}, where {Count(report.Aim.Marks, "mark")} a turn {(report.Aim.Marks == 1 ? "was" : "were")} said.",
        SensorFault.OtherCount => Text(
            $"{Count(report.Aim.Turns ?? 0, "turn")} gave {Count(report.View.Pulses.Count - report.TooClose, "pulse")}, where {(report.Aim.Turns ?? 0) * report.Aim.Marks} belong."),
        SensorFault.UnsteadyWidth => "A mark's width changes from one pulse to the next.",
        SensorFault.WideMark => Text($"The sensor sees the mark for {report.TurnShare * report.Aim.Marks * 100:F0} % of the time."),
        SensorFault.NarrowMark => Text($"The mark is narrow: {report.TurnShare * 360:F0}° of the turn."),
        SensorFault.BadLines => $"{Numbers.Count(report.View.Counts.BadLines)} lines came damaged.",
        SensorFault.LostOnLine => $"{Count(report.View.Counts.LostOnLine, "pulse")} got lost on the line.",
        SensorFault.DroppedByBoard => $"The board had no room for {Count(report.View.Counts.DroppedByBoard, "pulse")}.",
        SensorFault.Restarted => "The board started anew while it was watched.",
        SensorFault.LinkLost => "The link went away while it was watched.",
        _ => throw new ArgumentOutOfRangeException(nameof(fault), fault, null),
    };

    /// <summary>What to change.</summary>
    internal static string Change(SensorFault fault) => fault switch
    {
        SensorFault.Silent => "Check that the cable carries data, that the board runs its program, and that --port names this board.",
        SensorFault.Garbled => "Give the board's own rate with --baud, and what its lines mean with --format.",
        SensorFault.NothingSeen =>
            "Turn the body so that the mark passes. Still nothing: come closer (2 to 6 mm), aim at the mark, turn the trimmer; then check the sensor's supply and wires.",
        SensorFault.TooFew => "Turn the body by hand through ten turns or more while this watches; --seconds gives more time.",
        SensorFault.Lamp =>
            "Cover the lamp with a hand: if the pulses stop, it was the lamp. Shade the sensor, move the lamp out of its view, take an LED lamp, or come closer to the mark.",
        SensorFault.Irregular =>
            "Tilt the sensor 10° to 20° off the mirror direction, shade it, and set the trimmer half way; twist the signal wire with ground and keep it off motors and lamp flex.",
        SensorFault.Bounce => "Set the trimmer half way between mark and ground, come closer, give the mark sharp edges; a comparator with hysteresis cures it.",
        SensorFault.OtherMarks =>
            "Count the marks and give --marks; else there is a bright spot beside them (tilt off the mirror direction, matt black) or a mark that is not seen (distance, trimmer).",
        SensorFault.OtherCount => "Too many: bright spots or bouncing edges, so tilt, shade, matt black. Too few: a mark is missed, so come closer or turn the trimmer.",
        SensorFault.UnsteadyWidth => "The mark is only just seen: come closer, set the trimmer half way, hold body and bracket so that the distance stays the same.",
        SensorFault.WideMark =>
            "Either the polarity is the wrong way round (the board's light must be lit on the mark only; for a GPIO line there is --gpio-edge), or the ground is too bright: matt black, or turn the trimmer.",
        SensorFault.NarrowMark => "It will do while it is seen each time; 30° to 90° leaves more room at speed.",
        SensorFault.BadLines => "Check plugs and ground, take a shorter cable, keep it off motors; lower the rate on both sides if that does not help.",
        SensorFault.LostOnLine => "Check plugs and cable; close programs that keep this computer busy.",
        SensorFault.DroppedByBoard => "Fewer marks, or a faster line on both sides: more pulses come than the line carries.",
        SensorFault.Restarted => "Check the board's supply and plug; opening a port restarts many boards once, and that does not count.",
        SensorFault.LinkLost => "Check plug and cable, and that nothing pulls at it.",
        _ => throw new ArgumentOutOfRangeException(nameof(fault), fault, null),
    };

    /// <summary>How regular the intervals are.</summary>
    internal static string Regularity(double step) => step switch
    {
        double.NaN => Numbers.None,
        < 0.01 => "steady",
        < 0.3 => "changing evenly, as a body's",
        < 0.8 => "uneven",
        _ => "at random",
    };

    /// <summary>A count with its noun.</summary>
    internal static string Count(long count, string noun) => $"{Numbers.Count(count)} {noun}{(count == 1 ? "" : "s")}";

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
