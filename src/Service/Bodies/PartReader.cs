using Acquire.Results.Bodies;
using Acquire.Service.Commands;

namespace Acquire.Service.Bodies;

/// <summary>Reads one part of a rotor file: its shape, where it sits, what is taken out of it, what it is made of.</summary>
internal static class PartReader
{
    private const int MostPoints = 10_000;
    private const double LargestM = 10;
    private static readonly string[] Common = ["name", "note", "shape", "bottom"];

    /// <summary>The shapes with the lengths that each takes.</summary>
    public static readonly IReadOnlyList<(string Shape, string[] Lengths)> Shapes =
    [
        ("cylinder", ["radius", "height"]),
        ("ring", ["innerRadius", "outerRadius", "height"]),
        ("frustum", ["bottomRadius", "topRadius", "height"]),
        ("sphere", ["radius"]),
        ("torus", ["ringRadius", "tubeRadius"]),
        ("profile", ["points"]),
    ];

    /// <summary>Reads a part; null where something is wrong with it.</summary>
    /// <param name="place">Where it stands.</param>
    /// <param name="number">Which it is, from 1, for a name where none is given.</param>
    /// <param name="words">Takes what is wrong.</param>
    public static RotorPart? Part(JsonPlace place, int number, JsonWords words)
    {
        if (Placed(place, $"part{number}", StuffReader.Members, words) is not { } placed)
            return null;
        var bare = new RotorPart(placed.Name, placed.Shape, placed.BottomM, new PartStuff("", 1, 0, double.NaN, 0.5), []);
        if (Bores(place, bare, words) is not { } bored || StuffReader.Read(place, bored.Net.Amount, words) is not { } stuff)
            return null;
        return bored with { Stuff = stuff };
    }

    private static RotorPart? Bores(JsonPlace place, RotorPart part, JsonWords words)
    {
        if (!place.Members!.TryGetValue("remove", out JsonPlace? list))
            return part;
        if (list.Items is null)
        {
            words.Wrong(list, list.Found, "a list of shapes that are taken out of the part");
            return null;
        }

        for (int i = 0; i < list.Items.Count; i++)
        {
            if (Placed(list.Items[i], $"{part.Name}-bore{i + 1}", [], words) is not { } bore)
                return null;
            double outside = StackCheck.OutsideM3(part, bore);
            if (outside > 0)
            {
                words.Wrong(list.Items[i], $"{100 * outside / bore.Volume.Amount:0.##} % of it outside of '{part.Name}' or in another bore", "a bore that takes away only what is there");
                return null;
            }

            part = part with { Bores = [.. part.Bores, bore] };
        }

        if (part.Net.Amount > 1e-9 * part.Volume.Amount)
            return part;
        words.Wrong(list, "nothing left of the part", "bores that leave some of it");
        return null;
    }

    private static PlacedShape? Placed(JsonPlace place, string defaultName, string[] more, JsonWords words)
    {
        if (place.Members is null)
        {
            words.Wrong(place, place.Found, "an object with shape and sizes");
            return null;
        }

        string? kind = words.Text(place, "shape");
        string[]? lengths = Shapes.FirstOrDefault(s => s.Shape == kind).Lengths;
        if (lengths is null)
        {
            string[] names = [.. Shapes.Select(s => s.Shape)];
            string hint = kind is not null && NearestName.To(kind, names) is { } nearest ? $"'{nearest}'? There are " : "one of ";
            words.Wrong(place.Members.GetValueOrDefault("shape") ?? place, kind is null ? "no shape" : $"the shape '{kind}'", hint + string.Join(", ", names));
            return null;
        }

        words.Known(place, [.. Common.Concat(lengths).SelectMany(WithUnits), .. more]);
        string name = words.Text(place, "name") ?? defaultName;
        words.Text(place, "note");
        double? bottom = Length(place, "bottom", -LargestM, words);
        BodyShape? shape = kind == "profile" ? Profile(place, words) : Simple(place, kind!, lengths, words);
        return shape is null || bottom is null ? null : new PlacedShape(name, shape, bottom.Value);
    }

    private static IEnumerable<string> WithUnits(string member) =>
        member is "name" or "note" or "shape" ? [member] : [member + "Mm", member + "M"];

    private static BodyShape? Simple(JsonPlace place, string kind, string[] lengths, JsonWords words)
    {
        const double SmallestM = 1e-6;
        bool mayBeZero = kind == "frustum";
        double?[] given = [.. lengths.Select(l => Length(place, l, mayBeZero && l != "height" ? 0 : SmallestM, words))];
        if (given.Contains(null))
            return null;
        double[] m = [.. given.Select(g => g!.Value)];
        switch (kind)
        {
            case "cylinder": return Results.Bodies.Profile.Cylinder(m[0], m[1]);
            case "sphere": return new Sphere(m[0]);
            case "ring" when m[0] < m[1]: return Results.Bodies.Profile.Ring(m[0], m[1], m[2]);
            case "torus" when m[1] <= m[0]: return new Torus(m[0], m[1]);
            case "frustum" when m[0] + m[1] > 0: return Results.Bodies.Profile.Frustum(m[0], m[1], m[2]);
        }

        string expected = kind switch
        {
            "ring" => "innerRadius less than outerRadius",
            "torus" => "tubeRadius no more than ringRadius",
            _ => "one radius at least that is more than 0",
        };
        words.Wrong(place, string.Join(", ", lengths.Zip(m, (l, v) => $"{l} {v * 1000:0.######} mm")), expected);
        return null;
    }

    private static double? Length(JsonPlace place, string name, double leastM, JsonWords words)
    {
        (string mm, string m) = (name + "Mm", name + "M");
        bool both = place.Members!.ContainsKey(mm) && place.Members.ContainsKey(m);
        if (both || !(place.Members.ContainsKey(mm) || place.Members.ContainsKey(m)))
        {
            words.Wrong(place, both ? $"both {mm} and {m}" : $"no {mm}", $"{mm} or {m}" + (name == "bottom" ? ", the height of the lowest point above the tip" : ""));
            return null;
        }

        return place.Members.ContainsKey(mm) ? words.Number(place, mm, leastM * 1000, LargestM * 1000, "mm") / 1000 : words.Number(place, m, leastM, LargestM, "m");
    }

    private static Profile? Profile(JsonPlace place, JsonWords words)
    {
        (JsonPlace? inMm, JsonPlace? inM) = (place.Members!.GetValueOrDefault("pointsMm"), place.Members!.GetValueOrDefault("pointsM"));
        JsonPlace? list = inMm ?? inM;
        if (list?.Items is not { Count: >= 2 and <= MostPoints } items || (inMm is not null && inM is not null))
        {
            words.Wrong(list ?? place, list is null ? "no pointsMm" : list.Items is { } few ? $"{few.Count} points" : list.Found, $"pointsMm or pointsM, a list of 2 to {MostPoints} points [radius, height]");
            return null;
        }

        double unit = inMm is not null ? 1e-3 : 1;
        var points = new List<ProfilePoint>();
        foreach (JsonPlace item in items)
        {
            if (item.Items is not { Count: 2 } pair || pair[0].Number is not (>= 0 and double radius) || pair[1].Number is not { } height || Math.Max(radius, Math.Abs(height)) * unit > LargestM)
            {
                words.Wrong(item, item.Items is { } numbers ? $"[{string.Join(", ", numbers.Select(n => n.Found))}]" : item.Found, $"[radius, height], two numbers, the radius from 0, both up to {LargestM} m");
                return null;
            }

            var point = new ProfilePoint(radius * unit, height * unit);
            if (points.Count == 0 ? point.HeightM != 0 : point.HeightM < points[^1].HeightM)
            {
                words.Wrong(pair[1], pair[1].Found, points.Count == 0 ? "height 0 at the first point: heights count from the part's lowest" : $"a height no less than that before, {points[^1].HeightM / unit:0.######}");
                return null;
            }

            points.Add(point);
        }

        var profile = new Profile(points, 0);
        if (profile.Moments.Amount > 0)
            return profile;
        words.Wrong(list, "an outline without volume", "points with a radius and a height more than 0");
        return null;
    }
}
