namespace Acquire.Results.Bodies;

/// <summary>A spinning body as a stack of parts of revolution on one axis, heights counted from its tip.</summary>
public sealed record Rotor
{
    /// <summary>Standard acceleration of free fall, m/s², by definition (CGPM 1901).</summary>
    public const double FreeFallMS2 = 9.80665;

    private Rotor(string name, IReadOnlyList<RotorPart> parts, double? runUpRpm)
    {
        BodyMoments sum = parts.Aggregate(default(BodyMoments), (all, part) => all + part.Mass);
        (Name, Parts, RunUpRpm) = (name, parts, runUpRpm);
        (MassKg, InertiaAxisKgM2, InertiaTipKgM2, CentreHeightM) = (sum.Amount, sum.Radial, sum.Across, sum.CentreM);
        OuterRadiusM = parts.Max(p => p.Shape.OuterRadiusM);
        UMassKg = Unsure(parts, part => part.Net.Amount);
        UInertiaAxisKgM2 = Unsure(parts, part => part.Net.Radial);
    }

    /// <summary>What it is called.</summary>
    public string Name { get; }

    /// <summary>Its parts.</summary>
    public IReadOnlyList<RotorPart> Parts { get; }

    /// <summary>The speed up to which it is spun, turns a minute; null where it is not told.</summary>
    public double? RunUpRpm { get; }

    /// <summary>Mass, kg.</summary>
    public double MassKg { get; }

    /// <summary>Standard uncertainty of the mass as far as it comes from the densities, kg.</summary>
    public double UMassKg { get; }

    /// <summary>Moment of inertia about the axis, kg m².</summary>
    public double InertiaAxisKgM2 { get; }

    /// <summary>Standard uncertainty of <see cref="InertiaAxisKgM2"/> as far as it comes from the densities, kg m².</summary>
    public double UInertiaAxisKgM2 { get; }

    /// <summary>Moment of inertia about a line through the tip square to the axis, kg m².</summary>
    public double InertiaTipKgM2 { get; }

    /// <summary>Height of the centre of mass above the tip, m; negative where it hangs below.</summary>
    public double CentreHeightM { get; }

    /// <summary>The largest distance of any part from the axis, m.</summary>
    public double OuterRadiusM { get; }

    /// <summary>Below this speed it cannot stand upright on its tip, turns a minute: ω = 2√(m g l I1)/I3 of a sleeping symmetric top with I1
    /// about the tip (Kibble and Berkshire, Classical Mechanics, equation 12.26, from memory). 0 where the centre of mass is not above the tip.</summary>
    /// <remarks>A sharp tip that stays in its place, no friction, no air. A rounded tip or a dish moves it a little, friction lets a body
    /// that leans come down sooner.</remarks>
    public double ToppleRpm => CentreHeightM <= 0
        ? 0
        : 2 * Math.Sqrt(MassKg * FreeFallMS2 * CentreHeightM * InertiaTipKgM2) / InertiaAxisKgM2 * 30 / Math.PI;

    /// <summary>Puts a body together.</summary>
    /// <param name="name">What it is called; may be empty.</param>
    /// <param name="parts">One part at least.</param>
    /// <param name="runUpRpm">The speed up to which it is spun, turns a minute, or null.</param>
    public static Rotor Of(string name, IReadOnlyList<RotorPart> parts, double? runUpRpm = null)
    {
        ArgumentNullException.ThrowIfNull(parts);
        ArgumentOutOfRangeException.ThrowIfZero(parts.Count);
        return new Rotor(name, parts, runUpRpm);
    }

    /// <summary>Speed of the rim, m/s.</summary>
    /// <param name="rpm">Turns a minute.</param>
    public double RimSpeedMS(double rpm) => OuterRadiusM * rpm * Math.PI / 30;

    // One material's density is off alike in all its parts; different materials have nothing to do with each other.
    private static double Unsure(IReadOnlyList<RotorPart> parts, Func<RotorPart, double> integral) => Math.Sqrt(parts
        .GroupBy(part => part.Stuff.Name, StringComparer.Ordinal)
        .Sum(same => Math.Pow(same.Sum(part => part.Stuff.UDensityKgM3 * integral(part)), 2)));
}
