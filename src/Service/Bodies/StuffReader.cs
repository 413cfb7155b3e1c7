using Acquire.Results.Bodies;
using Acquire.Service.Commands;

namespace Acquire.Service.Bodies;

/// <summary>Reads what a part is made of.</summary>
internal static class StuffReader
{
    private const double ShareTolerance = 1e-3;

    /// <summary>Ways to tell a density, of which a part has one; a material may stand beside a density or mass for its strength.</summary>
    public static readonly string[] Densities = ["densityKgM3", "densityGCm3", "massG", "massKg", "mix"];

    /// <summary>All members that tell of the material, and the bores.</summary>
    public static readonly string[] Members = ["material", .. Densities, "fillShare", "strengthMPa", "remove"];

    /// <summary>Reads it; null where something is wrong.</summary>
    /// <param name="place">The part.</param>
    /// <param name="volumeM3">The part's volume, m³.</param>
    /// <param name="words">Takes what is wrong.</param>
    public static PartStuff? Read(JsonPlace place, double volumeM3, JsonWords words)
    {
        int before = words.Problems.Count;
        string[] given = [.. Densities.Where(place.Members!.ContainsKey)];
        Material? material = words.Text(place, "material") is { } name ? Named(place.Members!["material"], name, words) : null;
        if (given.Length > 1)
            words.Wrong(place, string.Join(" and ", given), "one of them");
        else if (given.Length == 0 && !place.Members!.ContainsKey("material"))
            words.Wrong(place, "no material and no density", $"material, or one of {string.Join(", ", Densities)}");
        PartStuff? stuff = given.Length == 1 && words.Problems.Count == before ? Given(place, given[0], volumeM3, material, words) : null;
        stuff ??= material is null ? null : Materials.Stuff(material);
        double? fill = words.Number(place, "fillShare", 0.01, 1, "(1 for solid)");
        double? strength = words.Number(place, "strengthMPa", 0.01, 10_000, "MPa");
        if (stuff is null || words.Problems.Count > before)
            return null;
        if (fill is { } share)
        {
            if (given.Length == 1 && given[0].StartsWith("mass", StringComparison.Ordinal))
                words.Wrong(place.Members!["fillShare"], $"fillShare beside {given[0]}", "one of them: a weighed part has its air in it already");
            stuff = stuff with { DensityKgM3 = share * stuff.DensityKgM3, UDensityKgM3 = share * stuff.UDensityKgM3, StrengthPa = share < 1 ? double.NaN : stuff.StrengthPa };
        }

        if (words.Problems.Count > before)
            return null;
        return strength is { } mpa ? stuff with { StrengthPa = mpa * 1e6 } : stuff;
    }

    private static PartStuff? Given(JsonPlace place, string member, double volumeM3, Material? material, JsonWords words)
    {
        if (member == "mix")
            return Mix(place.Members!["mix"], words);
        const double Heaviest = 25_000;
        double? density = member switch
        {
            "densityKgM3" => words.Number(place, member, 0.1, Heaviest, "kg/m³"),
            "densityGCm3" => words.Number(place, member, 0.0001, Heaviest / 1000, "g/cm³") * 1000,
            "massG" => words.Number(place, member, 1e-6, 1e6, "g") / 1000 / volumeM3,
            _ => words.Number(place, member, 1e-9, 1000, "kg") / volumeM3,
        };
        if (density is not { } kgM3)
            return null;
        if (kgM3 > Heaviest)
        {
            words.Wrong(place.Members![member], $"{place.Members[member].Found} in {volumeM3 * 1e6:0.####} cm³, {kgM3 / 1000:0.#} g/cm³", "no more than 25 g/cm³: nothing is denser than osmium with 22.6");
            return null;
        }

        return material is null
            ? new PartStuff("", kgM3, 0, double.NaN, 0.5)
            : Materials.Stuff(material) with { DensityKgM3 = kgM3, UDensityKgM3 = 0 };
    }

    private static PartStuff? Mix(JsonPlace place, JsonWords words)
    {
        if (place.Members is not { Count: > 0 } members)
        {
            words.Wrong(place, place.Found, "an object of materials with their shares by mass, such as {\"tungsten\": 0.95, \"nickel\": 0.05}");
            return null;
        }

        var shares = new List<(Material, double)>();
        foreach ((string name, JsonPlace member) in members)
        {
            if (Named(member, name, words) is { } material && words.Number(place, name, 1e-6, 1, "by mass") is { } share)
                shares.Add((material, share));
        }

        double sum = shares.Sum(s => s.Item2);
        if (shares.Count == members.Count && Math.Abs(sum - 1) > ShareTolerance)
            words.Wrong(place, $"shares that sum to {sum:0.####}", "shares by mass that sum to 1");
        return shares.Count == members.Count && Math.Abs(sum - 1) <= ShareTolerance
            ? Materials.Mix([.. shares.Select(s => (s.Item1, s.Item2 / sum))])
            : null;
    }

    private static Material? Named(JsonPlace place, string name, JsonWords words)
    {
        if (Materials.Named(name) is { } material)
            return material;
        string[] names = [.. Materials.All.Select(m => m.Name)];
        string hint = NearestName.To(name, names) is { } nearest ? $"'{nearest}'?" : "one of " + string.Join(", ", names);
        words.Wrong(place, $"the material '{name}'", hint + " (or densityKgM3)");
        return null;
    }
}
