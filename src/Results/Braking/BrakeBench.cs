namespace Acquire.Results.Braking;

/// <summary>A motor bench: what bodies or covers take beyond the bare motor, and which brakes less from what speed on.</summary>
/// <param name="Bare">The bare motor.</param>
/// <param name="Curves">The configurations.</param>
/// <param name="Comparisons">Each configuration but the first beside the first; none of those without a curve.</param>
/// <param name="AmpsPerOhmNm">By how much torque would be too high at the most for each ohm of a winding whose loss is not taken off, N m/Ω; NaN where that cannot be told.</param>
/// <remarks>At a speed the motor's own losses, friction, iron and fan, are taken to be those that it has by itself; its copper loss R I² grows with the load and
/// is taken off reading and bare reading alike where the winding's resistance is known (separation of losses: Fitzgerald, Kingsley and
/// Umans, Electric Machinery; IEC 60034-2-1; from memory).</remarks>
public sealed record BrakeBench(BareMotor Bare, IReadOnlyList<BrakeCurve> Curves, IReadOnlyList<BrakeComparison> Comparisons, double AmpsPerOhmNm)
{
    /// <summary>Works it out.</summary>
    /// <param name="bare">The bare motor's readings.</param>
    /// <param name="configurations">The bodies or covers; the first is what the others are compared with.</param>
    /// <param name="windingOhm">Resistance of the winding, Ω, whose loss is taken off; 0 for none.</param>
    /// <param name="problem">What is wrong where nothing can be worked out.</param>
    /// <returns>Null with a problem.</returns>
    public static BrakeBench? Of(BenchConfiguration bare, IReadOnlyList<BenchConfiguration> configurations, double windingOhm, out string? problem)
    {
        double perOhm = windingOhm > 0 ? double.NaN : PerOhm(bare, configurations);
        BenchConfiguration own = WithoutCopper(bare, windingOhm);
        BenchConfiguration[] loaded = [.. configurations.Select(c => WithoutCopper(c, windingOhm))];
        Fitted? constant = Fitted.Of(own, loaded, BenchNoise.Constant);
        problem = constant is null
            ? $"the bare motor has {own.Readings.Count} readings that count; a curve needs {BareMotor.FewestReadings} at four speeds or more" : null;
        if (constant is null)
            return null;
        (BareMotor motor, BrakeCurve[] curves) = Fitted.Of(own, loaded, BenchNoise.Proportional) is { } grows ? MoreLikely(constant, grows) : constant;
        LowOrderFit[] fits = [motor.Fit, .. curves.Where(c => c.HasCurve).Select(c => c.Fit)];
        if (BenchScatter.Pooled(fits) is { } together)
        {
            motor.IsPooled = true;
            foreach (LowOrderFit fit in fits)
                fit.Scatter = together;
        }

        BrakeComparison[] comparisons = curves[0].HasCurve ? [.. curves.Skip(1).Where(c => c.HasCurve).Select(c => BrakeComparison.Of(curves[0], c, motor))] : [];
        return new BrakeBench(motor, curves, comparisons, perOhm);
    }

    private static BenchConfiguration WithoutCopper(BenchConfiguration configuration, double ohm) => ohm > 0
        ? configuration with { Readings = [.. configuration.Readings.Select(r => r with { PowerW = r.PowerW - (ohm * r.Amps * r.Amps) })] }
        : configuration;

    // By likelihood of what readings are off by. What only one of the two takes for a stray counts: with the wrong one, many a sound reading seems to be.
    private static Fitted MoreLikely(Fitted a, Fitted b)
    {
        Residual[] all = [.. a.Residuals()];
        Residual[] other = [.. b.Residuals()];
        if (all.Length != other.Length)
            return a; // a configuration has a curve by one of them only
        bool[] counts = [.. all.Zip(other, (x, y) => !(x.Flagged && y.Flagged))];
        double Unlikely(Residual[] residuals)
        {
            Residual[] kept = [.. residuals.Where((_, i) => counts[i])];
            return (kept.Length * Math.Log(kept.Sum(r => r.OffW * r.OffW / (r.Spread * r.Spread)))) + kept.Sum(r => 2 * Math.Log(r.Spread));
        }

        return Unlikely(other) < Unlikely(all) ? b : a;
    }

    private readonly record struct Residual(double OffW, double Spread, bool Flagged);

    private sealed record Fitted(BareMotor Motor, BrakeCurve[] Curves)
    {
        public IEnumerable<LowOrderFit> Fits => Curves.Where(c => c.HasCurve).Select(c => c.Fit).Prepend(Motor.Fit);

        public static Fitted? Of(BenchConfiguration bare, IReadOnlyList<BenchConfiguration> loaded, BenchNoise noise) =>
            BareMotor.Of(bare.Readings, noise) is { } motor ? new Fitted(motor, BrakeCurve.Of(loaded, motor)) : null;

        public IEnumerable<Residual> Residuals() => Fits.SelectMany(f => f.Data.X.Select((x, i) => new Residual(f.Data.Y[i] - f.At(x).Value, f.Data.Spread[i], f.Flagged[i])));
    }

    // The bare current at a reading's speed is that of the bare reading nearest to it in speed.
    private static double PerOhm(BenchConfiguration bare, IReadOnlyList<BenchConfiguration> configurations)
    {
        BenchReading[] own = [.. bare.Readings.Where(r => double.IsFinite(r.Amps))];
        return own.Length == 0 ? double.NaN
            : configurations.SelectMany(c => c.Readings).Where(r => double.IsFinite(r.Amps))
                .Select(r => ((r.Amps * r.Amps) - Math.Pow(own.MinBy(b => Math.Abs(b.RadPerS - r.RadPerS)).Amps, 2)) / r.RadPerS)
                .DefaultIfEmpty(double.NaN).Max();
    }
}
