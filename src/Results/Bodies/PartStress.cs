namespace Acquire.Results.Bodies;

/// <summary>An upper estimate of the largest stress in one part that spins by itself.</summary>
/// <param name="Part">The part.</param>
/// <param name="SpeedMS">Speed of its own rim, m/s.</param>
/// <param name="StressPa">The estimate, Pa.</param>
/// <param name="Kind">Which estimate it is.</param>
/// <remarks>
/// Flat discs of even thickness, elastic: solid, at the centre, (3+ν)/8 ρv²; with a bore of radius a in an outer radius b, at the bore,
/// ρω²/4 [(3+ν)b² + (1−ν)a²], which for a thin ring is ρv² (Timoshenko and Goodier, Theory of Elasticity, section 32; Roark's Formulas for
/// Stress and Strain, table of rotating discs; from memory). A body that gets thinner outwards, as every shape here without recesses does, stays below.
/// Where a recess leaves a heavy rim on a thin web, the web must follow the rim, which alone would widen by ρv²/E of its radius: both ways, that is a stress
/// ρv²/(1−ν), and a hole at the middle doubles it. Not in it: parts that press on each other, joints, notches, keyways, holes off the axis, spokes, grain.
/// </remarks>
public sealed record PartStress(RotorPart Part, double SpeedMS, double StressPa, StressKind Kind)
{
    private const double Close = 1e-9;

    /// <summary>The estimate over the part's strength; NaN where that is not known.</summary>
    public double ShareOfStrength => StressPa / Part.Stuff.StrengthPa;

    /// <summary>The estimate for a part at a speed in turns a minute.</summary>
    public static PartStress Of(RotorPart part, double rpm)
    {
        double omega = rpm * Math.PI / 30;
        double outer = part.Shape.OuterRadiusM;
        double speed = omega * outer;
        double nu = part.Stuff.Poisson;
        double full = part.Stuff.DensityKgM3 * speed * speed;
        PlacedShape? through = part.Bores.FirstOrDefault(bore => IsThrough(part, bore));
        double inner = through?.Shape.OuterRadiusM ?? part.Shape.InnerRadiusM;
        bool recessed = part.Bores.Any(bore => bore != through);
        if (recessed)
            return new PartStress(part, speed, (inner > 0 ? 2 : 1) * full / (1 - nu), StressKind.Web);
        double share = inner / outer;
        return inner > 0
            ? new PartStress(part, speed, 0.25 * full * (3 + nu + ((1 - nu) * share * share)), StressKind.Annulus)
            : new PartStress(part, speed, 0.125 * full * (3 + nu), StressKind.Solid);
    }

    /// <summary>The estimates of all parts, that of the rim first: the part that reaches outermost, of several the one under the largest stress.</summary>
    public static IReadOnlyList<PartStress> OfAll(Rotor rotor, double rpm)
    {
        PartStress[] all = [.. rotor.Parts.Select(part => Of(part, rpm))];
        PartStress rim = all.Where(s => s.Part.Shape.OuterRadiusM >= rotor.OuterRadiusM * (1 - Close)).MaxBy(s => s.StressPa)!;
        return [rim, .. all.Where(s => s != rim)];
    }

    private static bool IsThrough(RotorPart part, PlacedShape bore) =>
        bore.Shape is Profile { BoreRadiusM: 0 } straight
        && straight.Points.All(p => Math.Abs(p.RadiusM - straight.OuterRadiusM) <= Close)
        && bore.BottomM <= part.BottomM + Close && bore.TopM >= part.TopM - Close;
}

/// <summary>Which estimate of stress a part gets.</summary>
public enum StressKind
{
    /// <summary>A disc without a hole.</summary>
    Solid,

    /// <summary>A disc or ring with a straight hole.</summary>
    Annulus,

    /// <summary>A part with a recess, taken for a heavy rim on a thin web.</summary>
    Web,
}
