namespace Acquire.Results;

/// <summary>An interval of speed, turns a minute.</summary>
/// <param name="FromRpm">Its upper end.</param>
/// <param name="ToRpm">Its lower end.</param>
public readonly record struct SpeedBand(double FromRpm, double ToRpm);

/// <summary>The bands that an interval of speed is looked at in, and why a decay time cannot be told.</summary>
public static class SpeedBands
{
    private const int FewestBands = 6;
    private static readonly double[] Steps = [0.5, 0.25, 0.2, 0.1];

    /// <summary>Bands at round speeds: in equal steps of 1, 2, 2.5 or 5 times a power of ten, the widest that give six or more; where the
    /// speeds are far apart each speed is half the one before instead.</summary>
    /// <param name="fromRpm">The higher speed.</param>
    /// <param name="toRpm">The lower speed, above 0.</param>
    public static IReadOnlyList<SpeedBand> Between(double fromRpm, double toRpm)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(toRpm);
        ArgumentOutOfRangeException.ThrowIfLessThanOrEqual(fromRpm, toRpm);
        const double FarApart = 12;
        return fromRpm / toRpm > FarApart ? Halving(fromRpm, toRpm) : Even(fromRpm, toRpm);
    }

    /// <summary>Bands between given speeds.</summary>
    /// <param name="rpm">The speeds, falling.</param>
    public static IReadOnlyList<SpeedBand> At(IReadOnlyList<double> rpm)
    {
        ArgumentNullException.ThrowIfNull(rpm);
        ArgumentOutOfRangeException.ThrowIfLessThan(rpm.Count, 2);
        return [.. rpm.Skip(1).Select((to, i) => new SpeedBand(rpm[i], to))];
    }

    private static IReadOnlyList<SpeedBand> Halving(double fromRpm, double toRpm)
    {
        var edges = new List<double> { fromRpm };
        while (edges[^1] / 2 > toRpm * 1.2)
            edges.Add(edges[^1] / 2);
        return At([.. edges, toRpm]);
    }

    private static IReadOnlyList<SpeedBand> Even(double fromRpm, double toRpm)
    {
        double power = Math.Pow(10, Math.Floor(Math.Log10(fromRpm - toRpm)));
        double step = Steps.Select(s => s * power).First(s => (fromRpm - toRpm) / s >= FewestBands - 1e-9);
        var edges = new List<double> { fromRpm };
        for (double edge = (Math.Ceiling((fromRpm / step) - 1e-9) - 1) * step; edge > toRpm + (step * 1e-6); edge -= step)
        {
            // A sliver at an end goes with its neighbour.
            if (fromRpm - edge > step * 0.3 && edge - toRpm > step * 0.3)
                edges.Add(edge);
        }

        return At([.. edges, toRpm]);
    }
}
