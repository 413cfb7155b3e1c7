using Acquire.Results.Bodies;
using Acquire.Results.Losses;

namespace Acquire.Results.Forecasting;

/// <summary>A change of the loss in an interval of speed.</summary>
/// <param name="Band">The interval.</param>
/// <param name="Share">The loss becomes so many times itself, above 0.</param>
public readonly record struct BandChange(SpeedBand Band, double Share);

/// <summary>What would be otherwise in a spin: another body, another loss in bands of speed.</summary>
/// <remarks>A term of the law is a torque over the inertia, so that all terms go as one over the inertia. Of the torques only dry contact at the tip knows the
/// weight: M = (3π/16)·μ·N·a of a ball that spins on its own spot, with the radius a of contact ∝ N^⅓ (Hertz; Johnson, Contact Mechanics, 1985, chapters 4 and 7, from memory),
/// together N^(4/3); a tip worn flat keeps a, so that its torque goes as N. What the air takes of a disc goes as its radius to the power 4 where the boundary layer is laminar
/// (½ρω²R⁵ · 3.87 Re^−½), 4.6 where it is turbulent (0.146 Re^−0.2), 5 of plain pressure drag (von Kármán 1921; Schlichting, Boundary-Layer Theory; from memory). Viscous and
/// eddy-current torque is taken as it was.</remarks>
/// <param name="InertiaTimes">The inertia becomes so many times itself.</param>
/// <param name="MassTimes">The mass becomes so many times itself.</param>
/// <param name="RadiusTimes">The largest radius becomes so many times itself.</param>
/// <param name="TipPower">Power of the weight in the tip's torque.</param>
/// <param name="Bands">Changes of the loss in bands; where bands overlap they multiply.</param>
/// <param name="End">The speed at which it then ends; null where that does not change.</param>
public sealed record SpinChange(
    double InertiaTimes, double MassTimes, double RadiusTimes, double TipPower, IReadOnlyList<BandChange> Bands, EndSpeed? End)
{
    /// <summary>Power of the weight in the torque of a ball on a flat or in a dish.</summary>
    public const double BallTip = 4.0 / 3;

    /// <summary>Nothing changed.</summary>
    public static SpinChange None { get; } = new(1, 1, 1, BallTip, [], null);

    /// <summary>Whether nothing is changed.</summary>
    public bool IsNone => InertiaTimes == 1 && MassTimes == 1 && RadiusTimes == 1 && Bands.Count == 0 && End is null;

    /// <summary>What another body makes of inertia, mass, radius and end.</summary>
    /// <param name="body">The body that was spun.</param>
    /// <param name="other">The other.</param>
    public SpinChange With(Rotor body, Rotor other) => this with
    {
        InertiaTimes = InertiaTimes * other.InertiaAxisKgM2 / body.InertiaAxisKgM2,
        MassTimes = MassTimes * other.MassKg / body.MassKg,
        RadiusTimes = RadiusTimes * other.OuterRadiusM / body.OuterRadiusM,
        End = other.ToppleRpm > 0 ? EndSpeed.OfRotor(other.ToppleRpm) : End,
    };

    /// <summary>By what a term of the law is multiplied.</summary>
    /// <param name="exponent">Its exponent.</param>
    public double Factor(double exponent) => exponent switch
    {
        0 => Math.Pow(MassTimes, TipPower),
        1.5 => Math.Pow(RadiusTimes, 4),
        1.8 => Math.Pow(RadiusTimes, 4.6),
        2 => Math.Pow(RadiusTimes, 5),
        _ => 1,
    } / InertiaTimes;

    /// <summary>By what the end's speed is multiplied where only inertia and mass are told: ω = 2√(m g l I1)/I3 with l as it was and I1 growing as I3.</summary>
    public double EndTimes => Math.Sqrt(MassTimes / InertiaTimes);

    /// <summary>A law with the change in it, but for the bands.</summary>
    internal LossLaw Of(LossLaw law) => InertiaTimes == 1 && MassTimes == 1 && RadiusTimes == 1
        ? law : new LossLaw([.. law.Terms.Select(t => t with { Coefficient = t.Coefficient * Factor(t.Exponent) })]);

    /// <summary>The bands in rad/s.</summary>
    internal IReadOnlyList<LossCell> Cells => [.. Bands.Select(b => new LossCell(b.Band.FromRpm * Math.PI / 30, b.Band.ToRpm * Math.PI / 30, b.Share))];
}
