using System.Globalization;
using Acquire.Acquisition.Clock;
using Acquire.Acquisition.Tests.Clock;

namespace Acquire.Measure.Ensembles;

/// <summary>How near the fitted rate of a board's clock comes to the true one after an hour, and how often the stated interval holds it.</summary>
internal static class ClockRates
{
    private const double DriftPpm = 5;
    private const double CyclePpm = 1;

    private static readonly ClockEnsemble Answers = new() { StatusEveryS = 0, AskEveryS = 10, UniformDelay = true };
    private static readonly ClockEnsemble Lines = new() { UniformDelay = true };

    internal static readonly Ensemble Ensemble = new(
        "clock", "board clocks within ±5000 ppm, 0 to 16 ms of delay on the way to the host, 0.5 ms and more the other way, one hour", Measure, new Seeds(0, 30));

    private static List<Figure> Measure(Seeds seeds)
    {
        var figures = new List<Figure>();
        foreach ((string how, ClockEnsemble clock, double limitPpm) in new[] { ("answers", Answers, 1.0), ("lines alone", Lines, 5.0), ("lines and answers", Lines with { AskEveryS = 10 }, 1.0) })
        {
            figures.AddRange(Rows(how + ", even rate", clock, seeds, limitPpm, true));
            figures.AddRange(Rows(how + ", delays that are mostly short", clock with { UniformDelay = false }, seeds, limitPpm, true));

            // What a drift adds to the uncertainty is no chance: it may hold more often, not less.
            figures.AddRange(Rows(how + ", warming by 5 ppm and a cycle of 1 ppm", clock with { DriftPpm = DriftPpm, CyclePpm = CyclePpm }, seeds, limitPpm, false));
        }

        return figures;
    }

    private static Figure[] Rows(string what, ClockEnsemble clock, Seeds seeds, double limitPpm, bool even)
    {
        (ClockEstimate Estimate, double TruthPpm)[] found = seeds.Each(seed => clock.One(seed + 1));
        double worst = found.Max(f => Math.Abs(f.Estimate.RatePpm - f.TruthPpm));
        double stated = found.Max(f => f.Estimate.URatePpm);
        int held = found.Count(f => Math.Abs(f.Estimate.RatePpm - f.TruthPpm) <= 1.96 * f.Estimate.URatePpm);
        return
        [
            new Figure($"{what}: rate", Text($"within {limitPpm:F0} ppm"), Text($"worst {worst:F3} ppm"), worst <= limitPpm),
            new Figure($"{what}: stated uncertainty", Text($"u within {limitPpm:F0} ppm"), Text($"at most {stated:F3} ppm"), stated <= limitPpm),
            even ? Figure.Interval($"{what}: 95 % interval", held, found.Length, found.Length) : Figure.AtLeast($"{what}: 95 % interval", held, found.Length),
        ];
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
