using System.Globalization;

namespace Acquire.Measure.Ensembles;

/// <summary>Measures the bar of the stop: none false, none missed, and where the end is placed.</summary>
internal static class StopEnsemble
{
    public static readonly Ensemble Stop = new(
        "stop", "sessions with all faults mixed: misses, glints, bounce, lamp, wobble, losses, rolling, restarts, failed launches", Measure);

    private static List<Figure> Measure(Seeds seeds)
    {
        var sum = new StopTally();
        foreach (StopTally one in seeds.Each(StopTally.Of))
            sum.Add(one);
        sum.Notes.ForEach(Console.Error.WriteLine);
        return
        [
            new($"runs found once, {sum.Spins} spins", "none missed", Text($"{sum.Missed} missed"), sum.Missed == 0),
            new("runs where there was none, or cut short", "none false", Text($"{sum.False} false"), sum.False == 0),
            new("spins ended as stopped where the fall was seen", "all", Text($"{sum.StoppedRight} of {sum.Seen}"), sum.StoppedRight == sum.Seen),
            new("end within one turn where the last mark was seen", "all", Text($"{sum.Placed} of {sum.Seen}"), sum.Placed == sum.Seen),
            new("runs that the judge could not work out", "none", Text($"{sum.Faults}"), sum.Faults == 0),
            new("end within 2 u where its last mark was the last or pulses witness it", "93–98 %", Share(sum.Held, sum.Stated), sum.Held >= 0.93 * sum.Stated && sum.Held <= 0.98 * sum.Stated),
            new("end within its range where marks ceased before and nothing witnessed", ">= 95 %", Share(sum.WithinRange, sum.Ranges), sum.WithinRange >= 0.95 * sum.Ranges),
        ];
    }

    private static string Share(int part, int whole) => Text($"{100.0 * part / Math.Max(whole, 1):F1} % of {whole}");

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
