using MathNet.Numerics.Integration;

namespace Acquire.Results.Comparison;

/// <summary>Density and viscosity of air.</summary>
/// <param name="DensityKgM3">Density, kg/m³.</param>
/// <param name="ViscosityPaS">Dynamic viscosity, Pa·s.</param>
public readonly record struct AirState(double DensityKgM3, double ViscosityPaS);

/// <summary>A term of a loss law: deceleration a·(n/ref)^p.</summary>
/// <param name="Exponent">p.</param>
/// <param name="Coefficient">a, in any unit that all terms share.</param>
public readonly record struct LossTerm(double Exponent, double Coefficient);

/// <summary>What a run's decay times would be in reference air. Only the air's share of the loss changes: of a laminar boundary layer (p = 1.5) as
/// √(ρμ), of a turbulent one (1.8) as ρ^0.8 μ^0.2, of pressure drag (2) as ρ; the rest stays. Which share is the air's the run's own loss law
/// says.</summary>
/// <param name="Terms">The run's loss law.</param>
/// <param name="ReferenceRpm">The speed that its coefficients are for.</param>
/// <param name="Actual">The air of the run.</param>
/// <param name="Reference">The air to bring it to.</param>
public sealed record AirCorrection(IReadOnlyList<LossTerm> Terms, double ReferenceRpm, AirState Actual, AirState Reference)
{
    private const double Same = 1e-6;
    private static readonly GaussLegendreRule Rule = new(0, 1, 24);

    /// <summary>By how much the logarithm of the decay time between two speeds is larger in the reference air.</summary>
    public double LogRatio(double fromRpm, double toRpm)
    {
        (double actual, double reference) = (0, 0);
        double width = Math.Log(fromRpm / toRpm);
        for (int i = 0; i < Rule.Order; i++)
        {
            double rpm = toRpm * Math.Exp(width * Rule.GetAbscissa(i));
            actual += Rule.GetWeight(i) * rpm / Loss(rpm, _ => 1);
            reference += Rule.GetWeight(i) * rpm / Loss(rpm, Scale);
        }

        return Math.Log(reference / actual);
    }

    /// <summary>The share of the loss that is the air's.</summary>
    public double AirShare(double rpm) => Loss(rpm, p => IsAir(p) ? 1 : 0) / Loss(rpm, _ => 1);

    private double Loss(double rpm, Func<double, double> scale) =>
        Terms.Sum(t => t.Coefficient * Math.Pow(rpm / ReferenceRpm, t.Exponent) * scale(t.Exponent));

    private static bool IsAir(double exponent) => exponent > 1 + Same;

    private double Scale(double exponent)
    {
        if (!IsAir(exponent))
            return 1;
        double density = Reference.DensityKgM3 / Actual.DensityKgM3;
        double viscosity = Reference.ViscosityPaS / Actual.ViscosityPaS;

        // By similarity what grows with ω^p grows with ρ^(p−1) μ^(2−p): drag coefficient as a power of ρωR²/μ.
        return Math.Pow(density, exponent - 1) * Math.Pow(viscosity, 2 - exponent);
    }
}
