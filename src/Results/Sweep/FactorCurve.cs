using Acquire.Results.Comparison;
using Acquire.Results.Statistics;

namespace Acquire.Results.Sweep;

/// <summary>Decay time against a numeric factor, for one category of runs.</summary>
/// <param name="Category">The category; empty where there is one only.</param>
/// <param name="Points">The runs.</param>
/// <param name="Levels">The values of the factor, rising.</param>
public sealed record FactorCurve(string Category, IReadOnlyList<FactorPoint> Points, IReadOnlyList<FactorLevel> Levels)
{
    private const int Grid = 2000;
    private const int Drawn = 121;

    /// <summary>The value of the factor with the longest decay time.</summary>
    public double Best { get; private init; }

    /// <summary>Lower end of its 95 % interval; NaN where no scatter is known.</summary>
    public double BestLow { get; private init; } = double.NaN;

    /// <summary>Upper end.</summary>
    public double BestHigh { get; private init; } = double.NaN;

    /// <summary>The fitted curve; empty where none fits or there are fewer than three levels.</summary>
    public IReadOnlyList<CurvePoint> Curve { get; private init; } = [];

    /// <summary>What curve was fitted, and why none where there is none; for people.</summary>
    public required string Model { get; init; }

    /// <summary>Whether the levels differ at all.</summary>
    public required Anova Differences { get; init; }

    /// <summary>The scatter that intervals of levels rest on.</summary>
    public required Repeatability Scatter { get; init; }

    /// <summary>Whether the interval of the best reaches the lowest or the highest value tried: the best may lie outside.</summary>
    public bool ReachesEdge => !(BestLow > Levels[0].Value && BestHigh < Levels[^1].Value);

    /// <summary>Makes it.</summary>
    /// <param name="category">The category.</param>
    /// <param name="points">Its runs, all with a decay time, of two values or more.</param>
    /// <param name="library">The library's repeatability, for runs that are not repeated.</param>
    /// <param name="baseline">The baseline's times; empty where there is none.</param>
    public static FactorCurve Of(string category, IReadOnlyList<FactorPoint> points, Repeatability library, IReadOnlyList<LogTime> baseline)
    {
        IGrouping<double, FactorPoint>[] byValue = [.. points.GroupBy(p => p.Value).OrderBy(g => g.Key)];
        double[][] logs = [.. byValue.Select(g => g.Select(p => p.Time.Value).ToArray())];
        Repeatability own = Repeatability.Of(logs);
        Repeatability scatter = own.IsKnown && own.Variance > 0 ? own : library;
        bool[] mayBeBest = scatter.IsKnown
            ? MultipleBest.MayBeBest([.. logs.Select(l => l.Average())], [.. logs.Select(l => l.Length)], scatter.Sd, scatter.DegreesOfFreedom, 0.95)
            : [.. logs.Select(_ => true)];
        FactorLevel[] levels = [.. byValue.Select((g, i) => Level(g.Key, logs[i], scatter, mayBeBest[i]) with
        {
            Gain = baseline.Count > 0 && !g.Any(p => baseline.Contains(p.Time)) ? Change.Of(baseline, g.Select(p => p.Time), scatter) : null,
        })];
        IReadOnlyList<FactorModel> models = FactorModel.Choose(points, library);
        var curve = new FactorCurve(category, points, levels)
        {
            Differences = Anova.Of(logs),
            Scatter = scatter,
            Model = models.Count > 0 ? string.Join(", and nearly as close ", models.Select(m => m.Name))
                : levels.Length < 3 ? "no curve: fewer than three values" : "no curve: the values lie off every smooth one by more than repeats do",
        };
        bool scattered = own.IsKnown || points.Count > levels.Length || library.IsKnown;
        return models.Count == 0 ? curve.ByLevels(scatter.IsKnown) : curve.ByModel(models, scattered);
    }

    private static FactorLevel Level(double value, double[] logs, Repeatability scatter, bool mayBeBest)
    {
        double mean = logs.Average();
        double half = scatter.IsKnown ? scatter.Sd / Math.Sqrt(logs.Length) * Student.Quantile(0.975, scatter.DegreesOfFreedom) : double.NaN;
        return new FactorLevel(value, logs.Length, Math.Exp(mean), Math.Exp(mean - half), Math.Exp(mean + half), mayBeBest);
    }

    private FactorCurve ByLevels(bool scattered)
    {
        FactorLevel best = Levels.MaxBy(l => l.MeanS)!;
        FactorLevel[] ties = [.. Levels.Where(l => l.MayBeBest)];
        return this with
        {
            Best = best.Value,
            BestLow = scattered ? ties[0].Value : double.NaN,
            BestHigh = scattered ? ties[^1].Value : double.NaN,
        };
    }

    // The interval holds those of all curves that are about as close.
    private FactorCurve ByModel(IReadOnlyList<FactorModel> models, bool scattered)
    {
        (double low, double high) = (Levels[0].Value, Levels[^1].Value);
        double[] grid = [.. Enumerable.Range(0, Grid + 1).Select(i => low + ((high - low) * i / Grid))];
        (int Low, int Best, int High)[] highest = [.. models.Select(m => m.Highest(grid))];
        int best = highest[0].Best;
        FactorCurve drawn = this with
        {
            Curve = [.. Enumerable.Range(0, Drawn).Select(i => low + ((high - low) * i / (Drawn - 1))).Select(v => Point(v, models[0].At(v), scattered))],
        };

        // A curve that sags has its highest point at an end, whatever lies at the other: there the values speak for themselves.
        bool sags = best is 0 or Grid && 2 * models[0].At(grid[Grid / 2]).Log < models[0].At(grid[0]).Log + models[0].At(grid[Grid]).Log;
        if (sags)
            return drawn.ByLevels(scattered && Scatter.IsKnown);
        return drawn with
        {
            Best = grid[best],
            BestLow = scattered ? grid[highest.Min(h => h.Low)] : double.NaN,
            BestHigh = scattered ? grid[highest.Max(h => h.High)] : double.NaN,
        };
    }

    private static CurvePoint Point(double value, (double Log, double Half) at, bool scattered) => new(
        value, Math.Exp(at.Log), scattered ? Math.Exp(at.Log - at.Half) : double.NaN, scattered ? Math.Exp(at.Log + at.Half) : double.NaN);
}
