namespace Acquire.Results.Braking;

/// <summary>How a reading scatters about its curve.</summary>
public enum BenchNoise
{
    /// <summary>Alike at every power.</summary>
    Constant,

    /// <summary>In proportion to the power.</summary>
    Proportional,
}

/// <summary>The power that the motor takes by itself, against speed.</summary>
public sealed class BareMotor
{
    /// <summary>Readings that a curve needs at the least.</summary>
    public const int FewestReadings = 5;

    /// <summary>How far beyond the bare readings' speeds its curve is trusted, as a share of the speed: a motor does not hold a setting to the last turn.</summary>
    public const double Beyond = 0.01;

    private const int FewestCoefficients = 4;
    private const int MostCoefficients = 9;
    private readonly LowOrderFit _fit;

    private BareMotor(LowOrderFit fit, IReadOnlyList<BenchReading> readings, BenchNoise noise)
    {
        (_fit, Readings, Noise) = (fit, readings, noise);
        BenchReading[] kept = [.. readings.Where((_, i) => !fit.Flagged[i])];
        LowRadPerS = kept.Min(r => r.RadPerS);
        HighRadPerS = kept.Max(r => r.RadPerS);
    }

    /// <summary>Its readings.</summary>
    public IReadOnlyList<BenchReading> Readings { get; }

    /// <summary>How readings of the bench scatter.</summary>
    public BenchNoise Noise { get; }

    /// <summary>Of each reading whether it is far from the curve.</summary>
    public IReadOnlyList<bool> Flagged => _fit.Flagged;

    /// <summary>How many coefficients its curve has: of a polynomial up to four, beyond that one more for each knot of a cubic spline.</summary>
    public int Coefficients => _fit.Coefficients.Count;

    /// <summary>How a reading scatters.</summary>
    public BenchScatter Scatter => _fit.Scatter;

    /// <summary>Lowest speed of a reading that counts, rad/s.</summary>
    public double LowRadPerS { get; }

    /// <summary>Highest speed of a reading that counts, rad/s.</summary>
    public double HighRadPerS { get; }

    /// <summary>Whether the scatter is that of all curves of the bench together.</summary>
    public bool IsPooled { get; internal set; }

    internal LowOrderFit Fit => _fit;

    /// <summary>Whether a speed is within those of the bare readings, or hardly beyond.</summary>
    public bool Reaches(double radPerS) => radPerS >= (1 - Beyond) * LowRadPerS && radPerS <= (1 + Beyond) * HighRadPerS;

    /// <summary>Power at a speed, W.</summary>
    public Losses.Estimate PowerW(double radPerS)
    {
        (double value, double u) = _fit.At(radPerS);
        return new Losses.Estimate(value, u);
    }

    /// <summary>Fits the curve.</summary>
    /// <returns>Null where the readings are too few or at too few speeds.</returns>
    internal static BareMotor? Of(IReadOnlyList<BenchReading> readings, BenchNoise noise)
    {
        if (readings.Count < FewestReadings)
            return null;
        double[] x = [.. readings.Select(r => r.RadPerS)];
        var data = new BenchData(x, [.. readings.Select(r => r.PowerW)], [.. x.Select(_ => 1.0)], 0, new bool[x.Length], x.Min(), x.Max());
        LowOrderFit? fit = Fitted(data);
        if (fit is not null && noise == BenchNoise.Proportional)
            fit = Fitted(data with { Spread = Spread(x, fit.At) });
        return fit is null || fit.Flagged.Count(f => !f) < FewestReadings ? null : new BareMotor(fit, readings, noise);
    }

    private static LowOrderFit? Fitted(BenchData data) => LowOrderFit.Of(data, LowOrderFit.CountOf([data], FewestCoefficients, MostCoefficients));

    /// <summary>Spreads in proportion to a curve of power, which near none are held up.</summary>
    internal static double[] Spread(double[] x, Func<double, (double Value, double U)> power)
    {
        const double Floor = 0.02;
        double[] at = [.. x.Select(v => power(v).Value)];
        double floor = Floor * at.Max(Math.Abs);
        return [.. at.Select(p => Math.Max(p, floor))];
    }
}
