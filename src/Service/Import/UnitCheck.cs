using System.Globalization;

namespace Acquire.Service.Import;

/// <summary>Says where a file's numbers make no sense in the unit that was given, and in which they would.</summary>
internal static class UnitCheck
{
    private const double SlowestRpm = 0.5;
    private const double LikelyRpm = 5;

    /// <summary>What is wrong with the unit of the times of pulses; null where nothing is.</summary>
    public static string? Pulses(ImportOrder order, IReadOnlyList<long> ns)
    {
        long[] steps = [.. ns.Skip(1).Zip(ns, (b, a) => b - a).Order()];
        double rpm = 60e9 / (Math.Max(1, steps[steps.Length / 2]) * (double)order.Options.Marks);
        if (rpm >= SlowestRpm && rpm <= order.Options.MaxRpm)
            return null;
        string better = Suggest("--unit", TimeUnits.All.Select(u => (u.Name, rpm * (double)(order.UnitS / u.Seconds))), order.Options.MaxRpm);
        if (better.Length == 0 && rpm < SlowestRpm)
            return null;
        return Text($"--unit {order.Unit}: half of the pulses come at {(rpm > SlowestRpm ? "more" : "less")} than {rpm:G4} rpm, expected {SlowestRpm} to {order.Options.MaxRpm} (--max-rpm){better}");
    }

    /// <summary>What is wrong with the unit of speeds or of their times; null where nothing is.</summary>
    public static string? Speeds(ImportOrder order, IReadOnlyList<double> rpm, double spanS)
    {
        const double ShortestS = 2;
        const double LikelyS = 10;
        const double LongestS = 3e6;
        double[] moving = [.. rpm.Where(r => r > 0).Order()];
        double middle = moving.Length > 0 ? moving[moving.Length / 2] : 0;
        if (middle > order.Options.MaxRpm)
        {
            string better = Suggest("--value-unit", ImportOrder.ValueUnits.Select(u => (u.Name, middle * u.Rpm / order.UnitRpm)), order.Options.MaxRpm);
            return Text($"--value-unit {order.ValueUnit}: half of the speeds are more than {middle:G4} rpm, expected up to {order.Options.MaxRpm} (--max-rpm){better}");
        }

        if (spanS is >= ShortestS and <= LongestS)
            return null;
        (string Name, double SpanS)[] units = [.. TimeUnits.All.Select(u => (u.Name, spanS * (double)(u.Seconds / order.UnitS))).Where(u => u.Item2 is >= LikelyS and <= 1e5)];
        string likely = string.Join(" or ", units.Select(u => Text($"--unit {u.Name} ({u.SpanS:G4} s)")));
        return Text($"--unit {order.Unit}: the file spans {spanS:G4} s, expected {ShortestS} s to {LongestS:0} s{(likely.Length > 0 ? "; did you mean " + likely + "?" : "")}");
    }

    /// <summary>What is wrong with how long a run would be; null where nothing is.</summary>
    public static string? Length(ImportOrder order, double spanS)
    {
        const double MostPoints = 5e6;
        return spanS / order.Options.GridS <= MostPoints ? null
            : Text($"{order.File}: found a run of {spanS:G4} s, expected {MostPoints * order.Options.GridS:0} s at the most with a --grid of {order.Options.GridS} s; is a time or an interval wrong, or --unit?");
    }

    private static string Suggest(string option, IEnumerable<(string Name, double Rpm)> units, double mostRpm)
    {
        string likely = string.Join(" or ", units.Where(u => u.Rpm >= LikelyRpm && u.Rpm <= mostRpm).Select(u => Text($"{option} {u.Name} ({u.Rpm:G4} rpm)")));
        return likely.Length > 0 ? "; did you mean " + likely + "?" : "";
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
