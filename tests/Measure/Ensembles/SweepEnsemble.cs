using Acquire.Acquisition.Simulation;
using Acquire.Results.Comparison;
using Acquire.Results.Sweep;

namespace Acquire.Measure.Ensembles;

/// <summary>How often the interval of the best value of a factor holds the true one, and how often the values that tie hold the true best of
/// those tried. Runs are drawn as results.</summary>
internal static class SweepEnsemble
{
    private const int PerSeed = 10;
    private static readonly double[][] Tried = [[2, 4, 6, 9, 14], [1, 3, 5, 7, 9, 11], [2, 6, 10], [0, 4, 8, 12]];

    public static readonly Ensemble Ensemble = new(
        "sweep", $"{PerSeed} sweeps a seed of 3 to 6 values, 3 to 5 runs each that scatter by 0.5 to 2 %, the best inside the range", Measure, new Seeds(0, 16));

    private readonly record struct Outcome(bool BestHeld, bool TieHeld, int Levels, int LevelsHeld, bool OfLog);

    private static List<Figure> Measure(Seeds seeds)
    {
        Outcome[] all = [.. seeds.Each(s => Enumerable.Range(0, PerSeed).Select(i => One(s, i)).ToArray()).SelectMany(o => o)];
        Outcome[] plain = [.. all.Where(o => !o.OfLog)];
        Outcome[] ofLog = [.. all.Where(o => o.OfLog)];
        return
        [
            Figure.Interval("best value, log time quadratic in the factor", plain.Count(o => o.BestHeld), plain.Length, plain.Length),
            Figure.Interval("best value, all (a third quadratic in the factor's logarithm)", all.Count(o => o.BestHeld), all.Length, all.Length),
            Figure.Interval("best value, quadratic in the factor's logarithm", ofLog.Count(o => o.BestHeld), ofLog.Length, ofLog.Length),
            Figure.Interval("mean of a value tried", all.Sum(o => o.LevelsHeld), all.Sum(o => o.Levels), all.Length),
            Figure.AtLeast("the true best of the values tried among those that tie", all.Count(o => o.TieHeld), all.Length),
        ];
    }

    private static Outcome One(int seed, int number)
    {
        var noise = new SeededNoise(seed, 1000 + number);
        double[] values = Tried[noise.Below(Tried.Length)];
        bool ofLog = number % 3 == 0 && values[0] > 0;
        double Scaled(double v) => ofLog ? Math.Log(v) : v;
        (double low, double high) = (Scaled(values[0]), Scaled(values[^1]));
        double best = noise.Uniform(low + (0.25 * (high - low)), high - (0.25 * (high - low)));
        double bend = noise.Uniform(0.1, 0.5) / ((high - low) * (high - low));
        double Log(double v) => 7 - (bend * (Scaled(v) - best) * (Scaled(v) - best));
        double sd = 0.005 * Math.Pow(4, noise.Uniform());
        int repeats = 3 + noise.Below(3);
        FactorPoint[] points = [.. values.SelectMany(v => Enumerable.Range(0, repeats).Select(i => new FactorPoint($"{v}-{i}", v, new LogTime(Log(v) + (sd * noise.Gaussian()), 1e-4))))];
        FactorCurve found = FactorCurve.Of("", points, default, []);
        double truth = ofLog ? Math.Exp(best) : best;
        double bestTried = values.MaxBy(Log);
        double grid = (values[^1] - values[0]) / 2000;
        return new Outcome(
            truth >= found.BestLow - grid && truth <= found.BestHigh + grid, found.Levels.Single(l => l.Value == bestTried).MayBeBest, values.Length,
            found.Levels.Count(l => l.LowS <= Math.Exp(Log(l.Value)) && Math.Exp(Log(l.Value)) <= l.HighS), ofLog);
    }
}
