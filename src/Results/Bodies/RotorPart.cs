namespace Acquire.Results.Bodies;

/// <summary>A shape at its place.</summary>
/// <param name="Name">What it is called.</param>
/// <param name="Shape">The shape.</param>
/// <param name="BottomM">Height of its lowest point above the tip, m.</param>
public record PlacedShape(string Name, BodyShape Shape, double BottomM)
{
    /// <summary>Height of its highest point above the tip, m.</summary>
    public double TopM => BottomM + Shape.HeightM;

    /// <summary>Its integrals about the tip, over the volume.</summary>
    public BodyMoments Volume => Shape.Moments.Raised(BottomM);
}

/// <summary>A part of one material.</summary>
/// <param name="Name">What it is called.</param>
/// <param name="Shape">The shape, bores not taken out.</param>
/// <param name="BottomM">Height of its lowest point above the tip, m.</param>
/// <param name="Stuff">What it is made of.</param>
/// <param name="Bores">What is taken out of it; each lies inside of the shape, and none in another.</param>
public sealed record RotorPart(string Name, BodyShape Shape, double BottomM, PartStuff Stuff, IReadOnlyList<PlacedShape> Bores)
    : PlacedShape(Name, Shape, BottomM)
{
    /// <summary>Integrals about the tip of what is left, over the volume.</summary>
    public BodyMoments Net => Bores.Aggregate(Volume, (left, bore) => left - bore.Volume);

    /// <summary>The same over the mass.</summary>
    public BodyMoments Mass => Stuff.DensityKgM3 * Net;

    /// <summary>What is left at a height above the tip, from the inside out; nothing above and below the part.</summary>
    public IReadOnlyList<RadialSpan> CutAt(double heightM)
    {
        if (heightM < BottomM || heightM > TopM)
            return [];
        List<RadialSpan> left = [Shape.At(heightM - BottomM)];
        foreach (PlacedShape bore in Bores)
        {
            if (heightM < bore.BottomM || heightM > bore.TopM)
                continue;
            RadialSpan hole = bore.Shape.At(heightM - bore.BottomM);
            left = [.. left.SelectMany(span => Without(span, hole))];
        }

        return left;
    }

    private static IEnumerable<RadialSpan> Without(RadialSpan span, RadialSpan hole)
    {
        if (hole.InnerM > span.InnerM)
            yield return new RadialSpan(span.InnerM, Math.Min(span.OuterM, hole.InnerM));
        if (hole.OuterM < span.OuterM)
            yield return new RadialSpan(Math.Max(span.InnerM, hole.OuterM), span.OuterM);
    }
}

/// <summary>What a part is made of.</summary>
/// <param name="Name">Its name; empty where only a density was given.</param>
/// <param name="DensityKgM3">Mass over volume, kg/m³.</param>
/// <param name="UDensityKgM3">Its standard uncertainty; 0 where the density or the mass was given.</param>
/// <param name="StrengthPa">The stress at which the weakest of its kind gives way, Pa; NaN where it is not known.</param>
/// <param name="Poisson">Poisson's ratio; 0.5, which no material exceeds, where it is not known.</param>
public sealed record PartStuff(string Name, double DensityKgM3, double UDensityKgM3, double StrengthPa, double Poisson);
