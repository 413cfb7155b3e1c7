namespace Acquire.Results.Bodies;

/// <summary>Says where parts of a body share space, touch nothing, or are taken out of what is not there.</summary>
public static class StackCheck
{
    /// <summary>Parts that are no farther apart than this touch, m.</summary>
    public const double TouchM = 2e-5;

    private const int Panels = 64;
    private const double LeastShare = 1e-4;

    /// <summary>Pairs of parts that share space, with the volume they share, m³.</summary>
    public static IReadOnlyList<(RotorPart One, RotorPart Other, double SharedM3)> Overlaps(IReadOnlyList<RotorPart> parts)
    {
        var found = new List<(RotorPart, RotorPart, double)>();
        for (int i = 0; i < parts.Count; i++)
        {
            for (int j = i + 1; j < parts.Count; j++)
            {
                (RotorPart one, RotorPart other) = (parts[i], parts[j]);
                double shared = Integral(Heights(one, other), z => Shared(one.CutAt(z), other.CutAt(z)));
                if (shared > LeastShare * Math.Min(one.Net.Amount, other.Net.Amount))
                    found.Add((one, other, shared));
            }
        }

        return found;
    }

    /// <summary>Parts that are not joined to the heaviest one, by touching it or through others.</summary>
    public static IReadOnlyList<RotorPart> Loose(IReadOnlyList<RotorPart> parts)
    {
        ArgumentNullException.ThrowIfNull(parts);
        var joined = new HashSet<RotorPart>(ReferenceEqualityComparer.Instance) { parts.MaxBy(p => p.Mass.Amount)! };
        for (bool more = true; more;)
        {
            more = false;
            foreach (RotorPart part in parts)
                more |= !joined.Contains(part) && joined.Any(other => Touch(part, other)) && joined.Add(part);
        }

        return [.. parts.Where(p => !joined.Contains(p))];
    }

    /// <summary>How much of a bore's volume lies outside of what is there to be taken away: outside of the shape, or in another bore, m³; 0 where none does.</summary>
    /// <param name="shape">The part, with the bores that were taken out before.</param>
    /// <param name="bore">The bore.</param>
    public static double OutsideM3(RotorPart shape, PlacedShape bore)
    {
        ArgumentNullException.ThrowIfNull(bore);
        var hole = new RotorPart(bore.Name, bore.Shape, bore.BottomM, new PartStuff("", 1, 0, double.NaN, 0), []);
        double inside = Integral(Heights(shape, hole), z => Shared(shape.CutAt(z), hole.CutAt(z)));
        double outside = bore.Volume.Amount - inside;
        return outside > LeastShare * bore.Volume.Amount ? outside : 0;
    }

    private static bool Touch(RotorPart one, RotorPart other)
    {
        (double low, double high) = (Math.Max(one.BottomM, other.BottomM) - TouchM, Math.Min(one.TopM, other.TopM) + TouchM);
        if (low > high)
            return false;
        IEnumerable<double> heights = Enumerable.Range(0, (2 * Panels) + 1).Select(i => low + ((high - low) * i / (2 * Panels)))
            .Concat(Edges(one).Concat(Edges(other)).SelectMany(z => new[] { z - (TouchM / 2), z, z + (TouchM / 2) }).Where(z => z >= low && z <= high));
        return heights.Any(z => Near(one, z).Any(a => Near(other, z).Any(b => a.InnerM - TouchM <= b.OuterM && b.InnerM - TouchM <= a.OuterM)));
    }

    private static IReadOnlyList<RadialSpan> Near(RotorPart part, double z) => part.CutAt(Math.Clamp(z, part.BottomM, part.TopM));

    private static double Shared(IReadOnlyList<RadialSpan> one, IReadOnlyList<RadialSpan> other)
    {
        double area = 0;
        foreach (RadialSpan a in one)
        {
            foreach (RadialSpan b in other)
            {
                (double inner, double outer) = (Math.Max(a.InnerM, b.InnerM), Math.Min(a.OuterM, b.OuterM));
                if (outer > inner)
                    area += Math.PI * ((outer * outer) - (inner * inner));
            }
        }

        return area;
    }

    // Midpoints between all heights where either outline bends: good to a few parts in a hundred thousand.
    private static double Integral(double[] heights, Func<double, double> area)
    {
        double sum = 0;
        for (int i = 1; i < heights.Length; i++)
        {
            double step = (heights[i] - heights[i - 1]) / Panels;
            for (int k = 0; k < Panels; k++)
                sum += step * area(heights[i - 1] + ((k + 0.5) * step));
        }

        return sum;
    }

    private static double[] Heights(RotorPart one, RotorPart other)
    {
        (double low, double high) = (Math.Max(one.BottomM, other.BottomM), Math.Min(one.TopM, other.TopM));
        return low >= high ? [] : [.. Edges(one).Concat(Edges(other)).Where(z => z >= low && z <= high).Concat([low, high]).Distinct().Order()];
    }

    private static IEnumerable<double> Edges(RotorPart part) =>
        new[] { (PlacedShape)part }.Concat(part.Bores).SelectMany(s => s.Shape.Breaks.Select(z => s.BottomM + z));
}
