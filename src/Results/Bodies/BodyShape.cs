namespace Acquire.Results.Bodies;

/// <summary>A shape turned round the axis, standing with its lowest point at height 0. Every cut at a height is one ring or disc.</summary>
public abstract record BodyShape
{
    /// <summary>From its lowest to its highest point, m.</summary>
    public abstract double HeightM { get; }

    /// <summary>The largest distance from the axis, m.</summary>
    public abstract double OuterRadiusM { get; }

    /// <summary>The smallest distance from the axis, m; 0 where it reaches the axis.</summary>
    public abstract double InnerRadiusM { get; }

    /// <summary>Its integrals over the volume.</summary>
    public abstract BodyMoments Moments { get; }

    /// <summary>Heights between which the cut changes smoothly, m, rising, the lowest and the highest point among them.</summary>
    public abstract IReadOnlyList<double> Breaks { get; }

    /// <summary>The cut at a height from 0 to <see cref="HeightM"/>.</summary>
    public abstract RadialSpan At(double heightM);
}

/// <summary>What lies between two distances from the axis.</summary>
/// <param name="InnerM">The smaller, m.</param>
/// <param name="OuterM">The larger, m.</param>
public readonly record struct RadialSpan(double InnerM, double OuterM);

/// <summary>A ball.</summary>
/// <param name="RadiusM">Its radius, m.</param>
public sealed record Sphere(double RadiusM) : BodyShape
{
    /// <inheritdoc/>
    public override double HeightM => 2 * RadiusM;

    /// <inheritdoc/>
    public override double OuterRadiusM => RadiusM;

    /// <inheritdoc/>
    public override double InnerRadiusM => 0;

    /// <inheritdoc/>
    public override IReadOnlyList<double> Breaks => [0, RadiusM, HeightM];

    /// <summary>Volume 4/3 π r³; mean square of any coordinate from the centre r²/5.</summary>
    public override BodyMoments Moments
    {
        get
        {
            double volume = 4 * Math.PI / 3 * Math.Pow(RadiusM, 3);
            double square = RadiusM * RadiusM / 5;
            return new BodyMoments(volume, 0, volume * square, 2 * volume * square).Raised(RadiusM);
        }
    }

    /// <inheritdoc/>
    public override RadialSpan At(double heightM)
    {
        double z = heightM - RadiusM;
        return new RadialSpan(0, Math.Sqrt(Math.Max(0, (RadiusM * RadiusM) - (z * z))));
    }
}

/// <summary>A ring of round wire.</summary>
/// <param name="RingRadiusM">From the axis to the middle of the wire, m.</param>
/// <param name="TubeRadiusM">Radius of the wire, m, no more than <paramref name="RingRadiusM"/>.</param>
public sealed record Torus(double RingRadiusM, double TubeRadiusM) : BodyShape
{
    /// <inheritdoc/>
    public override double HeightM => 2 * TubeRadiusM;

    /// <inheritdoc/>
    public override double OuterRadiusM => RingRadiusM + TubeRadiusM;

    /// <inheritdoc/>
    public override double InnerRadiusM => RingRadiusM - TubeRadiusM;

    /// <inheritdoc/>
    public override IReadOnlyList<double> Breaks => [0, TubeRadiusM, HeightM];

    /// <summary>Volume 2π²Ra²; mean square of the distance from the axis R² + ¾a², of the height from the middle a²/4.</summary>
    public override BodyMoments Moments
    {
        get
        {
            double a2 = TubeRadiusM * TubeRadiusM;
            double volume = 2 * Math.PI * Math.PI * RingRadiusM * a2;
            return new BodyMoments(volume, 0, volume * a2 / 4, volume * ((RingRadiusM * RingRadiusM) + (0.75 * a2))).Raised(TubeRadiusM);
        }
    }

    /// <inheritdoc/>
    public override RadialSpan At(double heightM)
    {
        double z = heightM - TubeRadiusM;
        double half = Math.Sqrt(Math.Max(0, (TubeRadiusM * TubeRadiusM) - (z * z)));
        return new RadialSpan(RingRadiusM - half, RingRadiusM + half);
    }
}
