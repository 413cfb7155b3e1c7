using Acquire.Service.Commands;

namespace Acquire.Service.Bodies;

/// <summary>Changes one member of one part: <c>PART.key=value</c>.</summary>
internal static class WhatIf
{
    /// <summary>The file with a change made; what is wrong with the change goes to <paramref name="words"/>.</summary>
    public static JsonPlace Apply(JsonPlace whole, string change, JsonWords words)
    {
        int equals = change.IndexOf('=', StringComparison.Ordinal);
        int dot = equals < 0 ? -1 : change.LastIndexOf('.', equals);
        if (dot <= 0 || equals == dot + 1 || equals == change.Length - 1)
        {
            words.Wrong($"--what-if: '{change}' on the command line; allowed is PART.key=value, such as rim.densityKgM3=8500");
            return whole;
        }

        (string name, string key, string value) = (change[..dot].Trim(), change[(dot + 1)..equals].Trim(), change[(equals + 1)..].Trim());
        if (whole.Members?.GetValueOrDefault("parts") is not { Items: { } items } parts)
            return whole;
        for (int i = 0; i < items.Count; i++)
        {
            if (items[i].Members is null)
                continue;
            string own = Name(items[i], $"part{i + 1}");
            if (Same(own, name))
                return whole.With("parts", parts.With(i, Change(items[i], key, value)));
            if (items[i].Members!.GetValueOrDefault("remove") is not { Items: { } bores } list)
                continue;
            for (int k = 0; k < bores.Count; k++)
            {
                if (bores[k].Members is not null && Same(Name(bores[k], $"{own}-bore{k + 1}"), name))
                    return whole.With("parts", parts.With(i, items[i].With("remove", list.With(k, Change(bores[k], key, value)))));
            }
        }

        string[] names = [.. items.Where(item => item.Members is not null).Select((item, i) => Name(item, $"part{i + 1}"))];
        string hint = NearestName.To(name, names) is { } nearest ? $"did you mean '{nearest}'?" : "there are " + string.Join(", ", names);
        words.Wrong($"--what-if: '{change}' on the command line: there is no part '{name}'; {hint}");
        return whole;
    }

    // A new density, mass or material takes the place of what told it before, a length in one unit that in the other.
    private static JsonPlace Change(JsonPlace part, string key, string value)
    {
        if (StuffReader.Densities.Contains(key) || key == "material")
        {
            foreach (string old in StuffReader.Densities)
                part = part.Without(old);
        }

        if (key.EndsWith("Mm", StringComparison.Ordinal))
            part = part.Without(key[..^2] + "M");
        else if (key.EndsWith('M'))
            part = part.Without(key[..^1] + "Mm");
        return part.With(key, value);
    }

    private static string Name(JsonPlace part, string otherwise) => part.Members!.GetValueOrDefault("name")?.Text ?? otherwise;

    private static bool Same(string a, string b) => a.Equals(b, StringComparison.OrdinalIgnoreCase);
}
