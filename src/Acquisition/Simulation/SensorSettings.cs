namespace Acquire.Acquisition.Simulation;

/// <summary>What light of a mains lamp the sensor takes for marks.</summary>
public enum LampLight
{
    /// <summary>None.</summary>
    None,

    /// <summary>Only while the body is at rest, as with a bright part under the sensor.</summary>
    AtRest,

    /// <summary>Always, among the marks.</summary>
    MixedIn,

    /// <summary>Always, and no mark at all: the sensor points past the body.</summary>
    Alone,
}

/// <summary>A time in which the sensor sees nothing.</summary>
/// <param name="StartS">Its start, s of the scenario.</param>
/// <param name="EndS">Its end, s of the scenario.</param>
public readonly record struct Blind(double StartS, double EndS);

/// <summary>The marks on the body and the faults of the sensor; every fault is off unless it is set.</summary>
public sealed record SensorSettings
{
    /// <summary>Leading edges of the marks on the body, turns, rising within [0, 1): one to eight of them. See <see cref="Evenly"/>.</summary>
    public IReadOnlyList<double> MarkOffsetsTurns { get; init; } = [0];

    /// <summary>Width of a mark, turns.</summary>
    public double MarkWidthTurns { get; init; } = 0.02;

    /// <summary>Standard deviation of the white jitter of an edge, s.</summary>
    public double JitterS { get; init; }

    /// <summary>Amplitude of the wobble at release, turns: it moves the moment at which a mark passes.</summary>
    public double WobbleTurns { get; init; }

    /// <summary>Precession at 1000 rpm, Hz; it goes as 1/speed.</summary>
    public double WobbleHzAt1000Rpm { get; init; } = 0.7;

    /// <summary>How many times larger the wobble is at the fall than at release; it goes as 1/speed⁴.</summary>
    public double WobbleGrowth { get; init; } = 8;

    /// <summary>Probability that a mark passes unseen.</summary>
    public double MissProbability { get; init; }

    /// <summary>Probability, at each mark, that a burst of misses begins.</summary>
    public double MissBurstProbability { get; init; }

    /// <summary>Mean marks missed in a burst (geometric).</summary>
    public double MissBurstMarks { get; init; } = 5;

    /// <summary>Probability, each turn, of a glint at a fixed angle of the body.</summary>
    public double FixedGlintProbability { get; init; }

    /// <summary>That angle, turns.</summary>
    public double FixedGlintTurns { get; init; } = 0.37;

    /// <summary>Width of that glint, turns.</summary>
    public double FixedGlintWidthTurns { get; init; } = 0.004;

    /// <summary>Mean glints a turn at random moments.</summary>
    public double RandomGlintsPerTurn { get; init; }

    /// <summary>Mean length of a random glint, s (exponential, at least 5 µs).</summary>
    public double RandomGlintS { get; init; } = 150e-6;

    /// <summary>Probability that a mark's edge bounces.</summary>
    public double BounceProbability { get; init; }

    /// <summary>Most extra edges in a bounce.</summary>
    public int BounceEdges { get; init; } = 3;

    /// <summary>How long a bounce lasts at most, s; never more than a third of the mark.</summary>
    public double BounceS { get; init; } = 300e-6;

    /// <summary>Which lamp light is seen.</summary>
    public LampLight Lamp { get; init; }

    /// <summary>Flashes a second, 100 or 120.</summary>
    public double LampHz { get; init; } = 100;

    /// <summary>Share of a flash's period that reads as a mark, 0 to 1.</summary>
    public double LampDuty { get; init; } = 0.4;

    /// <summary>Probability that a flash is seen.</summary>
    public double LampSeenProbability { get; init; } = 1;

    /// <summary>Times in which nothing is seen, in order.</summary>
    public IReadOnlyList<Blind> Blind { get; init; } = [];

    /// <summary>Offsets of evenly spaced marks, the spacing off by up to <paramref name="error"/> of itself.</summary>
    /// <param name="marks">Marks a turn, 1 to 8.</param>
    /// <param name="error">Largest error of a mark's place as a share of the spacing, 0 to below 0.5.</param>
    /// <param name="seed">Seed of the errors.</param>
    public static IReadOnlyList<double> Evenly(int marks, double error = 0, int seed = 1)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(marks, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(marks, 8);
        var noise = new SeededNoise(seed, 90);
        double[] offsets = new double[marks];
        for (int i = 1; i < marks; i++)
            offsets[i] = (i + noise.Uniform(-error, error)) / marks;
        return offsets;
    }

    internal void Check()
    {
        if (MarkOffsetsTurns.Count is < 1 or > 8)
            throw new ArgumentException("A body has one to eight marks.");
        for (int i = 0; i < MarkOffsetsTurns.Count; i++)
        {
            double next = i + 1 < MarkOffsetsTurns.Count ? MarkOffsetsTurns[i + 1] : 1 + MarkOffsetsTurns[0];
            if (MarkOffsetsTurns[i] < 0 || next - MarkOffsetsTurns[i] <= MarkWidthTurns)
                throw new ArgumentException("Marks must be in order within a turn and must not overlap.");
        }
    }
}
