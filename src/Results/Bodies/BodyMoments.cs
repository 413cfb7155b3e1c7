namespace Acquire.Results.Bodies;

/// <summary>The integrals of a body of revolution from which mass, centre and moments of inertia follow, over its volume or, times a
/// density, over its mass.</summary>
/// <param name="Amount">∫dV, m³; or the mass, kg.</param>
/// <param name="First">∫z dV with the height z above the origin, m⁴; or kg m.</param>
/// <param name="Second">∫z² dV, m⁵; or kg m².</param>
/// <param name="Radial">∫r² dV with the distance r from the axis, m⁵; or kg m².</param>
public readonly record struct BodyMoments(double Amount, double First, double Second, double Radial)
{
    /// <summary>Height of the centre above the origin, m.</summary>
    public double CentreM => First / Amount;

    /// <summary>Moment about any line through the origin square to the axis: of x² + z² half the radial one belongs to x².</summary>
    public double Across => (0.5 * Radial) + Second;

    /// <summary>Both together.</summary>
    public static BodyMoments operator +(BodyMoments a, BodyMoments b) =>
        new(a.Amount + b.Amount, a.First + b.First, a.Second + b.Second, a.Radial + b.Radial);

    /// <summary>The one with the other taken out of it.</summary>
    public static BodyMoments operator -(BodyMoments a, BodyMoments b) => a + (-1 * b);

    /// <summary>Times a density.</summary>
    public static BodyMoments operator *(double factor, BodyMoments m) =>
        new(factor * m.Amount, factor * m.First, factor * m.Second, factor * m.Radial);

    /// <summary>Both together.</summary>
    public static BodyMoments Add(BodyMoments a, BodyMoments b) => a + b;

    /// <summary>The one with the other taken out of it.</summary>
    public static BodyMoments Subtract(BodyMoments a, BodyMoments b) => a - b;

    /// <summary>Times a density.</summary>
    public static BodyMoments Multiply(double factor, BodyMoments m) => factor * m;

    /// <summary>The same body raised along the axis (Steiner's parallel axis theorem).</summary>
    /// <param name="byM">By how much, m; negative for lowered.</param>
    public BodyMoments Raised(double byM) =>
        new(Amount, First + (byM * Amount), Second + (2 * byM * First) + (byM * byM * Amount), Radial);
}
