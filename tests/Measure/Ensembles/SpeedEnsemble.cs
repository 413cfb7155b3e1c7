using System.Collections.Concurrent;
using System.Globalization;
using Acquire.Motion;

namespace Acquire.Measure.Ensembles;

/// <summary>Error of the speed after the run over the Cramér-Rao bound of the marks in the window that was used, white jitter.</summary>
/// <remarks>Bound of the slope of a parabola through n evenly spread events over a length L, at a distance d from their middle:
/// σ²/n·(12/L² + 720 d²/L⁴); at the middle it is 12σ²/[N(N²−1)] for the period (Kay 1993, chapter 3, from memory). A timer step q adds
/// q²/12 to σ².</remarks>
internal static class SpeedEnsemble
{
    private const double MostOver = 1.15;
    private const double TickS = 0.5e-6;

    public static Ensemble Make() => new(
        "speed", "root-mean-square error of speed.csv over the Cramér-Rao bound of its windows; five laws, 1 to 8 marks, 800 to 2500 rpm", Measure, new Seeds(0, 12));

    private static List<Figure> Measure(Seeds seeds)
    {
        var middle = new ConcurrentBag<double>();
        var ends = new ConcurrentBag<double>();
        Parallel.For(seeds.First, seeds.First + seeds.Count, seed => Deviations(CoverageSpin.Of(seed, 0, true), middle, ends));
        double[] all = [.. middle, .. ends];
        return
        [
            Of("all of the free spin", all),
            Of("where the window lies about the moment", [.. middle]),
            Of("within half a window of release or fall", [.. ends]),
        ];
    }

    private static Figure Of(string what, double[] ratios)
    {
        double rms = Math.Sqrt(ratios.Average(r => r * r));
        return new Figure(
            what, "≤ 1.15", string.Create(CultureInfo.InvariantCulture, $"{rms:F3} ({ratios.Length} points)"), rms <= MostOver);
    }

    private static void Deviations(CoverageSpin run, ConcurrentBag<double> middle, ConcurrentBag<double> ends)
    {
        SpinEstimate found = run.Estimate;
        double variance = (run.JitterS * run.JitterS) + (TickS * TickS / 12);
        for (int i = 0; i < found.Speed.Count; i++)
        {
            SpeedPoint p = found.Speed[i];
            (double fromS, double toS) = found.Windows[i];
            if (double.IsNaN(p.Rpm) || p.TimeS < Math.Max(found.ReleaseS, run.TrueS(run.Truth.ReleaseS)) || p.TimeS > run.TrueS(run.Truth.ToppleS))
                continue;
            double length = toS - fromS;
            double speed = run.TrueRpm(p.TimeS) / 60;
            double marks = run.SeenShare * run.Marks * (run.TrueTurns(toS) - run.TrueTurns(fromS));
            double off = p.TimeS - (0.5 * (fromS + toS));
            double bound = 60 * speed * Math.Sqrt(variance / marks * ((12 / (length * length)) + (720 * off * off / Math.Pow(length, 4))));
            (Math.Abs(off) < 0.05 * length ? middle : ends).Add((p.Rpm - run.TrueRpm(p.TimeS)) / bound);
        }
    }
}
