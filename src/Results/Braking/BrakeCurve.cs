using Acquire.Results.Losses;
using MathNet.Numerics.LinearAlgebra;

namespace Acquire.Results.Braking;

/// <summary>Torque that one reading shows.</summary>
/// <param name="Reading">The reading.</param>
/// <param name="TorqueNm">(P − P of the bare motor at that speed)/ω, N m; NaN at a speed at which the bare motor was not read.</param>
/// <param name="UTorqueNm">Its standard uncertainty: scatter of a reading, and of the bare motor's curve; NaN likewise.</param>
/// <param name="Flagged">Whether it has no part in the curve: far from it, or where the bare motor was not read.</param>
public readonly record struct BrakePoint(BenchReading Reading, double TorqueNm, double UTorqueNm, bool Flagged);

/// <summary>The braking torque of a body or cover against speed.</summary>
public sealed class BrakeCurve
{
    /// <summary>Readings that a curve needs at the least.</summary>
    public const int FewestReadings = 4;

    private const int FewestCoefficients = 4;
    private const int MostCoefficients = 12;
    private readonly BareMotor _bare;
    private readonly LowOrderFit? _fit;
    private readonly Matrix<double>? _ofBare;

    private readonly Drawn[] _drawn;

    private BrakeCurve(string name, Drawn[] drawn, BareMotor bare, LowOrderFit? fit, Matrix<double>? ofBare)
    {
        (Name, _drawn, _bare, _fit, _ofBare) = (name, drawn, bare, fit, ofBare);
        double[] kept = [.. drawn.Where(p => !p.Flagged).Select(p => p.Reading.RadPerS)];
        LowRadPerS = kept.Length > 0 ? kept.Min() : double.NaN;
        HighRadPerS = kept.Length > 0 ? kept.Max() : double.NaN;
    }

    /// <summary>Its name.</summary>
    public string Name { get; }

    /// <summary>A point for each reading.</summary>
    public IReadOnlyList<BrakePoint> Points => [.. _drawn.Select(Point)];

    /// <summary>Whether there is a curve; else the readings that count are too few or at too few speeds.</summary>
    public bool HasCurve => _fit is not null;

    /// <summary>How many coefficients the curve of torque against speed has: of a polynomial up to four, beyond that one more for each knot of a cubic spline.</summary>
    public int Coefficients => _fit?.Coefficients.Count ?? 0;

    /// <summary>How a reading scatters; by the bare motor where there is no curve.</summary>
    public BenchScatter Scatter => _fit?.Scatter ?? _bare.Scatter;

    /// <summary>Lowest speed of a reading that counts, rad/s; NaN where none does.</summary>
    public double LowRadPerS { get; }

    /// <summary>Highest speed of a reading that counts, rad/s; NaN where none does.</summary>
    public double HighRadPerS { get; }

    /// <summary>Readings at speeds at which the bare motor was not read.</summary>
    public int Outside => _drawn.Count(p => double.IsNaN(p.ExcessW));

    /// <summary>Readings far from the curve.</summary>
    public int Far => _drawn.Count(p => p.Flagged) - Outside;

    internal LowOrderFit Fit => _fit ?? throw new InvalidOperationException("Too few readings for a curve.");

    /// <summary>Torque at a speed, N m, with all that makes it uncertain.</summary>
    public Estimate TorqueNm(double radPerS)
    {
        Vector<double> own = Own(radPerS);
        Vector<double> bare = OfBare(radPerS);
        return new Estimate(own.DotProduct(Fit.Coefficients), Math.Sqrt(own.DotProduct(Fit.Covariance * own) + bare.DotProduct(_bare.Fit.Covariance * bare)));
    }

    /// <summary>Standard deviation of a reading alone, as torque, N m.</summary>
    internal double NoiseNm(BrakePoint point) => Math.Sqrt(Math.Max(0, Math.Pow(point.UTorqueNm, 2) - Math.Pow(_bare.PowerW(point.Reading.RadPerS).U / point.Reading.RadPerS, 2)));

    private BrakePoint Point(Drawn drawn)
    {
        double noiseW = Scatter.Sd * drawn.Spread;
        double u = Math.Sqrt((noiseW * noiseW) + Math.Pow(_bare.PowerW(drawn.Reading.RadPerS).U, 2));
        bool known = double.IsFinite(drawn.ExcessW);
        return new BrakePoint(drawn.Reading, drawn.ExcessW / drawn.Reading.RadPerS, known ? u / drawn.Reading.RadPerS : double.NaN, drawn.Flagged);
    }

    /// <summary>How the torque at a speed follows from the curve's coefficients.</summary>
    internal Vector<double> Own(double radPerS) => Fit.Powers(radPerS) / radPerS;

    /// <summary>How it follows from the coefficients of the bare motor's curve.</summary>
    internal Vector<double> OfBare(double radPerS) => _ofBare!.TransposeThisAndMultiply(Own(radPerS));

    /// <summary>Works out the curves of all configurations, of one kind so that what it cannot follow falls out of their differences.</summary>
    internal static BrakeCurve[] Of(IReadOnlyList<BenchConfiguration> configurations, BareMotor bare)
    {
        double[] reached = [.. configurations.SelectMany(c => c.Readings).Select(r => r.RadPerS).Where(bare.Reaches)];
        (double low, double high) = reached.Length > 0 ? (reached.Min(), reached.Max()) : (bare.LowRadPerS, bare.HighRadPerS);
        BenchData[] all = [.. configurations.Select(c => Data(c, bare, low, high))];
        int count = Count(all);
        if (bare.Noise == BenchNoise.Proportional)
        {
            all = [.. all.Select(data => Fitted(data, count) is { } before ? data with { Spread = BareMotor.Spread(data.X, v => (bare.PowerW(v).Value + before.At(v).Value, 0)) } : data)];
            count = Count(all);
        }

        return [.. configurations.Select((c, i) => Of(c, all[i], count, bare))];
    }

    private static int Count(BenchData[] all)
    {
        BenchData[] enough = [.. all.Where(d => Fitted(d, FewestCoefficients) is not null)];
        return enough.Length == 0 ? FewestCoefficients : LowOrderFit.CountOf(enough, FewestCoefficients, MostCoefficients);
    }

    private static LowOrderFit? Fitted(BenchData data, int count)
    {
        LowOrderFit? fit = data.Held.Count(h => !h) < FewestReadings ? null : LowOrderFit.Of(data, count);
        return fit?.Flagged.Count(f => !f) < FewestReadings ? null : fit;
    }

    private static BenchData Data(BenchConfiguration configuration, BareMotor bare, double low, double high)
    {
        double[] x = [.. configuration.Readings.Select(r => r.RadPerS)];
        bool[] outside = [.. x.Select(v => !bare.Reaches(v))];
        return new BenchData(x, [.. configuration.Readings.Select((r, i) => outside[i] ? 0 : r.PowerW - bare.PowerW(x[i]).Value)],
            bare.Noise == BenchNoise.Constant ? [.. x.Select(_ => 1.0)] : BareMotor.Spread(x, v => (bare.PowerW(v).Value, 0)), 1, outside, low, high);
    }

    private static BrakeCurve Of(BenchConfiguration configuration, BenchData data, int count, BareMotor bare)
    {
        LowOrderFit? fit = Fitted(data, count);
        Drawn[] drawn = [.. configuration.Readings.Select((r, i) => new Drawn(r, data.Held[i] ? double.NaN : data.Y[i], data.Spread[i], fit?.Flagged[i] ?? data.Held[i]))];
        if (fit is null)
            return new BrakeCurve(configuration.Name, drawn, bare, null, null);

        // Each reading has the bare motor's curve taken off, so that what is wrong with that goes the same way into all.
        int[] kept = [.. Enumerable.Range(0, drawn.Length).Where(i => !fit.Flagged[i])];
        Matrix<double> powers = Matrix<double>.Build.DenseOfRowVectors(kept.Select(i => bare.Fit.Powers(data.X[i]) / data.Spread[i]));
        return new BrakeCurve(configuration.Name, drawn, bare, fit, -fit.Solver * powers);
    }

    // Power beyond the bare motor's, NaN where that was not read.
    private readonly record struct Drawn(BenchReading Reading, double ExcessW, double Spread, bool Flagged);
}
