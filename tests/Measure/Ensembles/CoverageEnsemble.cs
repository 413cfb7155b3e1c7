using System.Collections.Concurrent;
using System.Globalization;
using Acquire.Acquisition.Simulation;
using Acquire.Motion;
using Acquire.Results;

namespace Acquire.Measure.Ensembles;

/// <summary>How often the stated 95 % intervals (1.96 u) hold the truth, by size of wobble; with marks judged as in a run, and with marks
/// that are known, so that what judging costs can be told from what estimating costs.</summary>
/// <remarks>The bar speaks of speed, deceleration, decay time and spin time, white jitter and wobble alike: those with judged marks, each for
/// white jitter and each for wobble as a body that can still stand has it. An amplitude of 0.01 turns at release grows to 0.08 turns, 29°
/// of the way round, before the fall: no top stands so, and it is there to show where the answers begin to fail. Marks that are known are
/// there to tell causes apart.</remarks>
internal static class CoverageEnsemble
{
    private const int PointsARun = 8;
    private const int KindsWithBar = 5;
    private const double MostWobble = 0.003;
    private static readonly double[] Wobbles = [0, 0.001, 0.003, 0.01];
    private static readonly string[] Kinds = ["speed", "deceleration", "decay time", "decay time over a hundredth of the speed", "spin time", "peak speed", "precession constant"];

    public static Ensemble Make() => new(
        "coverage", "95 % intervals of speed, deceleration, decay time, spin time; five laws, 1 to 8 marks, 800 to 2500 rpm", Measure, new Seeds(0, 8));

    private static List<Figure> Measure(Seeds seeds)
    {
        var figures = new List<Figure>();
        var wobbling = Kinds.ToDictionary(k => k, _ => new List<double>());
        foreach ((double wobble, bool judged) in Wobbles.SelectMany(w => new[] { (w, true), (w, false) }))
        {
            var here = new ConcurrentDictionary<string, ConcurrentBag<double>>();
            Parallel.For(seeds.First, seeds.First + seeds.Count, seed => Deviations(seed, wobble, judged, (kind, z) => here.GetOrAdd(kind, _ => []).Add(z)));
            foreach (string kind in Kinds)
            {
                List<double> z = here.TryGetValue(kind, out ConcurrentBag<double>? bag) ? [.. bag] : [];
                if (judged && wobble is > 0 and <= MostWobble)
                    wobbling[kind].AddRange(z);
                string of = judged ? "" : ", marks known";
                if (z.Count < seeds.Count / 2)
                    continue;
                Figure figure = Of($"{kind}, wobble {wobble.ToString(CultureInfo.InvariantCulture)} turns{of}", z, seeds.Count);
                figures.Add(judged && wobble == 0 && HasBar(kind) ? figure : figure.Beyond());
            }
        }

        foreach (string kind in Kinds)
        {
            Figure figure = Of(string.Create(CultureInfo.InvariantCulture, $"{kind}, wobble 0.001 to {MostWobble} turns"), wobbling[kind], 2 * seeds.Count);
            figures.Add(HasBar(kind) ? figure : figure.Beyond());
        }

        return figures;
    }

    private static bool HasBar(string kind) => Array.IndexOf(Kinds, kind) < KindsWithBar;

    // Several points of a run share its marks: a run counts as so many points, not as one each.
    private static Figure Of(string what, List<double> z, int runs)
    {
        double rms = Math.Sqrt(z.Select(v => v * v).Where(double.IsFinite).Order().Take(z.Count - (z.Count / 50)).Average());
        return Figure.Interval(
            what, z.Count(v => Math.Abs(v) <= 1.96), z.Count, Math.Min(runs, z.Count), string.Create(CultureInfo.InvariantCulture, $", rms of the lower 98 % {rms:F2}"));
    }

    private static void Deviations(int seed, double wobble, bool judged, Action<string, double> add)
    {
        CoverageSpin run = CoverageSpin.Of(seed, wobble, judged);
        SpinEstimate found = run.Estimate;
        var noise = new SeededNoise(seed, 301);
        IReadOnlyList<SpeedPoint> points = run.FreePoints();
        for (int i = 0; i < PointsARun; i++)
        {
            SpeedPoint p = points[noise.Below(points.Count)];
            add("speed", (p.Rpm - run.TrueRpm(p.TimeS)) / p.URpm);
            add("deceleration", (p.DecelRpmPerS - run.TrueDecel(p.TimeS)) / p.UDecelRpmPerS);
            if (DecayTime.Between(found.Speed, found.ReleaseS, p.Rpm * 0.999, p.Rpm * 0.989, 0) is { } brief)
                add("decay time over a hundredth of the speed", (brief.Seconds - run.Truth.DecayTimeS(p.Rpm * 0.999, p.Rpm * 0.989)) / brief.USeconds);
            SpeedPoint q = points[noise.Below(points.Count)];
            (double fast, double slow) = (Math.Max(p.Rpm, q.Rpm), Math.Min(p.Rpm, q.Rpm));
            if (fast < slow * 1.02 || DecayTime.Between(found.Speed, found.ReleaseS, fast, slow, 0) is not { } decay)
                continue;
            add("decay time", (decay.Seconds - run.Truth.DecayTimeS(fast, slow)) / decay.USeconds);
        }

        add("spin time", (found.StopS - found.ReleaseS - run.Truth.SpinTimeS) / found.USpinTimeS);
        add("peak speed", (found.PeakRpm - run.Truth.PeakRpm) / found.UPeakRpm);
        if (found.Wobble is { } seen)
            add("precession constant", (seen.ConstantPerS2 - run.WobbleConstant) / seen.UConstantPerS2);
    }
}
