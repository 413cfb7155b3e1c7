using Acquire.Results.Air;
using Acquire.Results.Losses;

namespace Acquire.Results.Comparison;

/// <summary>What a run's decay times would be in reference air. Only the air's share of the loss changes: of a laminar boundary layer (p = 1.5) as
/// √(ρμ), of a turbulent one (1.8) as ρ^0.8 μ^0.2, of pressure drag (2) as ρ; the rest stays. Which share is the air's the run's own loss law
/// says.</summary>
/// <param name="Laws">Loss laws that explain the run, with how likely each is.</param>
/// <param name="Actual">The air of the run.</param>
/// <param name="Reference">The air to bring it to.</param>
public sealed record AirCorrection(IReadOnlyList<(LossLaw Law, double Weight)> Laws, MoistAir Actual, MoistAir Reference)
{
    /// <summary>Air of 20 °C, 1013.25 hPa and 50 % humidity.</summary>
    public static MoistAir Usual { get; } = MoistAir.Of(20, 101_325, 0.5)!;

    /// <summary>True where the humidity is not known and <see cref="Actual"/> has 50 % for it: the middle of what it may be.</summary>
    public bool IsHumidityAssumed { get; init; }

    /// <summary>By how much the logarithm may be off either way since the humidity is not known: half of its change from dry to saturated air; 0 where the humidity
    /// was measured.</summary>
    public double HumidityLimit(double fromRpm, double toRpm)
    {
        if (!IsHumidityAssumed)
            return 0;
        MoistAir dry = MoistAir.Of(Actual.TemperatureC, Actual.PressurePa, 0)!;
        MoistAir wet = MoistAir.Of(Actual.TemperatureC, Actual.PressurePa, 1) ?? Actual;
        return Math.Abs((this with { Actual = wet }).LogRatio(fromRpm, toRpm) - (this with { Actual = dry }).LogRatio(fromRpm, toRpm)) / 2;
    }

    /// <summary>By how much the logarithm of the decay time between two speeds is larger in the reference air.</summary>
    /// <param name="fromRpm">The higher speed.</param>
    /// <param name="toRpm">The lower speed.</param>
    public double LogRatio(double fromRpm, double toRpm)
    {
        (double from, double to) = (fromRpm * Math.PI / 30, toRpm * Math.PI / 30);
        return Laws.Sum(l => l.Weight * Math.Log(InReference(l.Law).TimeBetween(from, to) / l.Law.TimeBetween(from, to)));
    }

    private LossLaw InReference(LossLaw law) => new([.. law.Terms.Select(t => t with { Coefficient = t.Coefficient * Scale(t.Exponent) })]);

    // By similarity what grows with ω^p grows with ρ^(p−1) μ^(2−p): a drag coefficient that is a power of ρωR²/μ.
    private double Scale(double exponent) => exponent <= 1 ? 1
        : Math.Pow(Reference.DensityKgM3 / Actual.DensityKgM3, exponent - 1) * Math.Pow(Reference.ViscosityPaS / Actual.ViscosityPaS, 2 - exponent);
}
