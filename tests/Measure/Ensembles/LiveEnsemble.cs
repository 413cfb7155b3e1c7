using System.Globalization;

namespace Acquire.Measure.Ensembles;

/// <summary>The speed as the display shows it after each mark, against the truth at that moment: how often its stated 95 % interval (1.96 u)
/// holds, by size of wobble, and how old it is.</summary>
/// <remarks>The bar speaks of the shown standard uncertainty over all: white jitter, and all together. A wobble alone errs as a swing does: of
/// it 1.96 times a true standard deviation holds all, and nine tenths of it 80 %; its rows are there to be looked at, with no bar. In the
/// first seconds what the marks scatter by, and whether the body wobbles, is not learnt yet, and more is stated than is mostly needed.</remarks>
internal static class LiveEnsemble
{
    private const double MostAgeS = 0.5;
    private const double FirstS = 10;       // after the release, in which what the marks scatter by is still being learnt
    private static readonly double[] Wobbles = [0, 0.001, 0.003];

    internal static readonly Ensemble Ensemble = new(
        "live", "speed as displayed after each mark; five laws, 1 to 8 marks 6 % off, 3 to 90 µs of jitter, board clocks within ±5000 ppm", Measure, new Seeds(0, 6));

    private static List<Figure> Measure(Seeds seeds)
    {
        var figures = new List<Figure>();
        var all = new List<LiveShown>();
        double oldest = 0;
        foreach (double wobble in Wobbles)
        {
            LiveSpin[] spins = seeds.Each(seed => LiveSpin.Of(seed, wobble));
            List<LiveShown> shown = [.. spins.SelectMany(s => s.Shown)];
            List<LiveShown> after = [.. shown.Where(s => s.SinceReleaseS >= FirstS)];
            string size = wobble.ToString(CultureInfo.InvariantCulture);
            Figure figure = Of($"speed from {FirstS:F0} s after the release on, wobble {size} turns", after, seeds.Count);
            figures.Add(wobble == 0 ? figure : figure.Beyond());
            figures.Add(Of($"speed in the first {FirstS:F0} s, wobble {size} turns", [.. shown.Where(s => s.SinceReleaseS < FirstS)], seeds.Count).Beyond());
            figures.Add(new Figure($"median of u over speed, wobble {size} turns", "no bar", Text($"{1e6 * Median(after, s => s.U / s.Rpm):F0} ppm; of the deviation {1e6 * Median(after, s => Math.Abs(s.Off) / s.Rpm):F0} ppm"), true));
            all.AddRange(after);
            oldest = Math.Max(oldest, spins.Max(s => s.OldestS));
        }

        figures.Add(Of($"speed from {FirstS:F0} s after the release on, all", all, seeds.Count));
        double age = oldest + LiveSpin.DisplayS;
        figures.Add(new Figure("age of a speed shown, from the last pulse", "<= 0.5 s", Text($"at most {oldest:F3} s, {age:F3} s with the display's own steps"), age <= MostAgeS));
        return figures;
    }

    private static Figure Of(string what, List<LiveShown> shown, int runs)
    {
        int held = shown.Count(s => Math.Abs(s.Off) <= 1.96 * s.U);
        double rms = Math.Sqrt(shown.Select(s => Math.Pow(s.Off / s.U, 2)).Order().Take(shown.Count - (shown.Count / 50)).Average());
        return Figure.Interval(what, held, shown.Count, runs, Text($", rms of the lower 98 % {rms:F2}"));
    }

    private static double Median(List<LiveShown> shown, Func<LiveShown, double> of)
    {
        List<double> values = [.. shown.Select(of).Order()];
        return values.Count == 0 ? double.NaN : values[values.Count / 2];
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
