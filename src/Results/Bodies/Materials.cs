namespace Acquire.Results.Bodies;

/// <summary>A material as it is commonly had.</summary>
/// <param name="Name">The name by which a file calls it.</param>
/// <param name="LowKgM3">The lightest of its kind, kg/m³.</param>
/// <param name="HighKgM3">The heaviest of its kind, kg/m³.</param>
/// <param name="LowMPa">Yield strength, or tensile strength of what breaks without yielding, of its weakest common kind, MPa; NaN where no figure is fit to rely on.</param>
/// <param name="HighMPa">The same of its strongest common kind, MPa.</param>
/// <param name="Poisson">Poisson's ratio.</param>
/// <param name="Source">Where the figures are from.</param>
public sealed record Material(string Name, double LowKgM3, double HighKgM3, double LowMPa, double HighMPa, double Poisson, string Source)
{
    /// <summary>The middle of the range of densities, kg/m³.</summary>
    public double DensityKgM3 => 0.5 * (LowKgM3 + HighKgM3);

    /// <summary>Standard uncertainty of <see cref="DensityKgM3"/>: anywhere in the range alike, half its width over √3 (JCGM 100:2008, 4.3.7).</summary>
    public double UDensityKgM3 => 0.5 * (HighKgM3 - LowKgM3) / Math.Sqrt(3);
}

/// <summary>Common materials of tops and flywheels.</summary>
/// <remarks>All figures are from memory, of the kind that the named source tabulates; no copy was seen. Sources: ASM Metals Handbook; CRC Handbook of Chemistry
/// and Physics; Wood Handbook (USDA), dry wood, strength across the grain; ASTM B777, tungsten alloys of classes 1 to 4; data sheets of makers: plastics, filament (strength
/// between layers), technical ceramics, laminates of carbon fibre with layers in several directions. Weigh a part rather than trust them.</remarks>
public static class Materials
{
    private const string Metals = "ASM Metals Handbook, from memory";
    private const string Physics = "CRC Handbook, from memory";
    private const string Heavy = "ASTM B777, from memory";
    private const string Plastics = "plastics makers, from memory";
    private const string Printed = "filament makers, from memory";
    private const string Woods = "Wood Handbook, from memory";
    private const string Ceramics = "ceramics makers, from memory";

    /// <summary>All of them, by name.</summary>
    public static readonly IReadOnlyList<Material> All =
    [
        new("acetal", 1400, 1430, 60, 70, 0.37, Plastics),
        new("acrylic", 1170, 1200, 50, 75, 0.37, Plastics),
        new("alumina", 3800, 3980, 200, 300, 0.22, Ceramics),
        new("aluminium", 2640, 2810, 35, 500, 0.33, Metals),
        new("beech", 650, 800, 3, 7, 0.5, Woods),
        new("birch", 600, 720, 3, 6, 0.5, Woods),
        new("brass", 8400, 8730, 95, 400, 0.34, Metals),
        new("bronze", 8700, 8900, 110, 450, 0.34, Metals),
        new("carbon-fibre", 1500, 1620, 300, 700, 0.3, "laminate makers, from memory"),
        new("cast-iron", 6900, 7400, 130, 400, 0.26, Metals),
        new("copper", 8890, 8960, 33, 330, 0.34, Metals),
        new("glass", 2460, 2600, 20, 40, 0.22, Physics),
        new("iron", 7840, 7880, 50, 150, 0.29, Physics),
        new("lead", 11290, 11350, 5, 12, 0.44, Metals),
        new("magnesium", 1730, 1850, 80, 250, 0.35, Metals),
        new("maple", 600, 750, 3, 8, 0.5, Woods),
        new("nickel", 8880, 8910, 60, 150, 0.31, Metals),
        new("nylon", 1120, 1150, 40, 80, 0.39, Plastics),
        new("oak", 600, 770, 3, 6, 0.5, Woods),
        new("polycarbonate", 1190, 1220, 55, 65, 0.37, Plastics),
        new("printed-abs", 1030, 1060, 10, 25, 0.35, Printed),
        new("printed-petg", 1250, 1280, 15, 30, 0.38, Printed),
        new("printed-pla", 1210, 1260, 15, 35, 0.35, Printed),
        new("printed-resin", 1100, 1200, 30, 60, 0.4, Printed),
        new("silicon-nitride", 3160, 3300, 500, 800, 0.27, Ceramics),
        new("stainless-steel", 7700, 8030, 170, 700, 0.29, Metals),
        new("steel", 7750, 7870, 200, 900, 0.29, Metals),
        new("tin", 7260, 7310, 10, 20, 0.36, Physics),
        new("titanium", 4420, 4540, 170, 880, 0.34, Metals),
        new("tungsten", 19250, 19350, 300, 750, 0.28, Physics),
        new("tungsten-alloy", 16850, 18750, 515, 650, 0.28, Heavy),
        new("tungsten-carbide", 14400, 15800, 350, 900, 0.22, Ceramics),
        new("zinc", 6600, 7140, 100, 280, 0.27, Metals),
    ];

    /// <summary>The material of a name, or null.</summary>
    public static Material? Named(string name) => All.FirstOrDefault(m => m.Name.Equals(name, StringComparison.OrdinalIgnoreCase));

    /// <summary>What a part of one material is made of.</summary>
    public static PartStuff Stuff(Material material)
    {
        ArgumentNullException.ThrowIfNull(material);
        return new PartStuff(material.Name, material.DensityKgM3, material.UDensityKgM3, material.LowMPa * 1e6, material.Poisson);
    }

    /// <summary>What a part of several materials is made of by the rule of mixtures: volumes add up, 1/ρ = Σ share/ρ of each, shares by mass that sum to 1.
    /// Good to a few parts in a hundred where the mixture has no pores and the materials do not dissolve in each other much. Its strength is not known from theirs.</summary>
    public static PartStuff Mix(IReadOnlyList<(Material Material, double MassShare)> shares)
    {
        ArgumentNullException.ThrowIfNull(shares);
        double density = 1 / shares.Sum(s => s.MassShare / s.Material.DensityKgM3);
        double u = density * density * Math.Sqrt(shares.Sum(s =>
            Math.Pow(s.MassShare * s.Material.UDensityKgM3 / (s.Material.DensityKgM3 * s.Material.DensityKgM3), 2)));
        return new PartStuff(string.Join("-", shares.Select(s => s.Material.Name)), density, u, double.NaN, 0.5);
    }
}
