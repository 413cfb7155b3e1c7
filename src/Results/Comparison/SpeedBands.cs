namespace Acquire.Results.Comparison;

/// <summary>Bands of speed for people: round edges, five to ten of them.</summary>
public static class SpeedBands
{
    private const int Most = 8;
    private static readonly double[] Steps = [1, 2, 2.5, 5];

    /// <summary>The bands between two speeds, the fastest first; the outermost are cut at the speeds.</summary>
    public static IReadOnlyList<(double FromRpm, double ToRpm)> Between(double fromRpm, double toRpm)
    {
        ArgumentOutOfRangeException.ThrowIfLessThanOrEqual(fromRpm, toRpm);
        double scale = Math.Pow(10, Math.Floor(Math.Log10((fromRpm - toRpm) / Most)));
        double step = Steps.Append(10).Select(s => s * scale).First(s => (fromRpm - toRpm) / s <= Most + 1e-9);
        var edges = new List<double> { fromRpm };
        for (double edge = (Math.Ceiling((fromRpm / step) - 1e-9) - 1) * step; edge > toRpm + (0.25 * step); edge -= step)
        {
            if (edge < fromRpm - (0.25 * step))
                edges.Add(edge);
        }

        edges.Add(toRpm);
        return [.. edges.Zip(edges.Skip(1))];
    }
}
