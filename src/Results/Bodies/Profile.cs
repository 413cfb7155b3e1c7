namespace Acquire.Results.Bodies;

/// <summary>A shape whose outline is straight from point to point, round a bore of one radius: cylinder, ring, cone frustum and any turned
/// profile.</summary>
/// <param name="Points">Radius against height, m: the first at height 0, heights that never fall. Two at one height are a step.</param>
/// <param name="BoreRadiusM">Radius of the bore, m, no more than any radius of the outline; 0 for none.</param>
public sealed record Profile(IReadOnlyList<ProfilePoint> Points, double BoreRadiusM) : BodyShape
{
    // Three Gauss points integrate polynomials up to the fifth degree exactly; the highest here, z²r² and r⁴, are of the fourth.
    private static readonly (double Place, double Weight)[] Gauss =
    [
        (0.5 - (0.5 * Math.Sqrt(0.6)), 5 / 18.0), (0.5, 8 / 18.0), (0.5 + (0.5 * Math.Sqrt(0.6)), 5 / 18.0),
    ];

    /// <inheritdoc/>
    public override double HeightM => Points[^1].HeightM;

    /// <inheritdoc/>
    public override double OuterRadiusM => Points.Max(p => p.RadiusM);

    /// <inheritdoc/>
    public override double InnerRadiusM => BoreRadiusM;

    /// <inheritdoc/>
    public override IReadOnlyList<double> Breaks => [.. Points.Select(p => p.HeightM).Distinct()];

    /// <inheritdoc/>
    public override BodyMoments Moments
    {
        get
        {
            var sum = default(BodyMoments);
            for (int i = 1; i < Points.Count; i++)
                sum += Piece(Points[i - 1], Points[i]);
            return sum;
        }
    }

    /// <summary>A cylinder.</summary>
    public static Profile Cylinder(double radiusM, double heightM) => Frustum(radiusM, radiusM, heightM);

    /// <summary>A flat ring.</summary>
    public static Profile Ring(double innerRadiusM, double outerRadiusM, double heightM) =>
        Cylinder(outerRadiusM, heightM) with { BoreRadiusM = innerRadiusM };

    /// <summary>A cone with its point cut off; whole where one radius is 0.</summary>
    public static Profile Frustum(double bottomRadiusM, double topRadiusM, double heightM) =>
        new([new ProfilePoint(bottomRadiusM, 0), new ProfilePoint(topRadiusM, heightM)], 0);

    /// <inheritdoc/>
    public override RadialSpan At(double heightM)
    {
        double outer = 0;
        for (int i = 1; i < Points.Count; i++)
        {
            (ProfilePoint a, ProfilePoint b) = (Points[i - 1], Points[i]);
            if (heightM < a.HeightM || heightM > b.HeightM)
                continue;
            double rise = b.HeightM - a.HeightM;
            double radius = rise > 0 ? a.RadiusM + ((b.RadiusM - a.RadiusM) * (heightM - a.HeightM) / rise) : Math.Max(a.RadiusM, b.RadiusM);
            outer = Math.Max(outer, radius);
        }

        return new RadialSpan(BoreRadiusM, outer);
    }

    private BodyMoments Piece(ProfilePoint a, ProfilePoint b)
    {
        double rise = b.HeightM - a.HeightM;
        double bore2 = BoreRadiusM * BoreRadiusM;
        var sum = default(BodyMoments);
        foreach ((double place, double weight) in Gauss)
        {
            double z = a.HeightM + (place * rise);
            double r = a.RadiusM + (place * (b.RadiusM - a.RadiusM));
            double area = Math.PI * ((r * r) - bore2);
            sum += weight * rise * new BodyMoments(area, area * z, area * z * z, area * 0.5 * ((r * r) + bore2));
        }

        return sum;
    }
}

/// <summary>A point of an outline.</summary>
/// <param name="RadiusM">Distance from the axis, m.</param>
/// <param name="HeightM">Height above the shape's lowest point, m.</param>
public readonly record struct ProfilePoint(double RadiusM, double HeightM);
