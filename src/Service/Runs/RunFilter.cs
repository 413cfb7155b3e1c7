using System.Globalization;
using Acquire.Recording;
using Acquire.Service.Commands;

namespace Acquire.Service.Runs;

/// <summary>What a run must be like: <c>key=value[,key=value]</c>, all of which must hold. Keys are top, base, cover, operator and the names of
/// factors; text is compared whatever its case, a factor as a number. Nothing after the sign stands for runs that do not say.</summary>
internal sealed class RunFilter
{
    private static readonly string[] TextKeys = ["top", "base", "cover", "operator"];
    private readonly IReadOnlyList<(string Key, string Value)> _conditions;

    private RunFilter(IReadOnlyList<(string Key, string Value)> conditions) => _conditions = conditions;

    /// <summary>As it was given.</summary>
    public string Text => string.Join(',', _conditions.Select(Words));

    /// <summary>Reads filters that must all hold.</summary>
    /// <returns>Null with what is wrong in <paramref name="problem"/>.</returns>
    public static RunFilter? Parse(IEnumerable<string> filters, out string? problem)
    {
        var conditions = new List<(string Key, string Value)>();
        foreach (string part in filters.SelectMany(f => f.Split(',')))
        {
            int sign = part.IndexOf('=', StringComparison.Ordinal);
            string key = sign < 0 ? "" : part[..sign].Trim();
            problem = key.Length == 0 ? $"'{part}'; allowed is key=value[,key=value]"
                : conditions.Any(c => Same(c.Key, key)) ? $"{key} is given twice; a run has one" : null;
            if (problem is not null) return null;
            conditions.Add((key, part[(sign + 1)..].Trim()));
        }

        problem = null;
        return new RunFilter(conditions);
    }

    /// <summary>Whether the run is like that.</summary>
    public bool Holds(RunDescriptor run) => _conditions.All(c => Holds(run, c));

    /// <summary>What is wrong with the filter for these runs: a key or a value that none of them has, or no run that has all; null where some do.</summary>
    public string? Problem(IReadOnlyList<RunDescriptor> runs)
    {
        foreach ((string key, string value) in _conditions)
        {
            if (Name(key, runs) is null) return NoKey(key, runs);
            if (!runs.Any(r => Holds(r, (key, value)))) return $"no run has {key}={value}{Meant(value, Values(key, runs))}";
        }

        return runs.Any(Holds) ? null
            : $"no run has all of {Text}: " + string.Join(", ", _conditions.Select(c => $"{Words(c)} has {runs.Count(r => Holds(r, c))}"));
    }

    /// <summary>The keys that these runs can be told apart by.</summary>
    public static string[] Keys(IEnumerable<RunDescriptor> runs) =>
        [.. TextKeys, .. runs.SelectMany(r => r.Setup.Factors.Keys).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)];

    /// <summary>The key as the runs write it, whatever its case; null where none has it.</summary>
    public static string? Name(string key, IEnumerable<RunDescriptor> runs)
    {
        string[] keys = Keys(runs);
        return Array.Find(keys, k => k == key) ?? Array.Find(keys, k => Same(k, key));
    }

    /// <summary>What a run has of a key: the text, or the factor's number; empty where it does not say.</summary>
    public static string Value(RunDescriptor run, string key)
    {
        RunSetup setup = run.Setup;
        return key.ToLowerInvariant() switch
        {
            "top" => setup.Top,
            "base" => setup.Base,
            "cover" => setup.Cover,
            "operator" => setup.Operator,
            _ => Factor(run, key) is { } factor ? factor.ToString(CultureInfo.InvariantCulture) : "",
        };
    }

    /// <summary>The number that a run has of a factor; null where it has none.</summary>
    public static double? Factor(RunDescriptor run, string key)
    {
        if (run.Setup.Factors.TryGetValue(key, out double exact)) return exact;
        foreach ((string name, double value) in run.Setup.Factors)
        {
            if (Same(name, key)) return value;
        }

        return null;
    }

    private static string[] Values(string key, IEnumerable<RunDescriptor> runs) =>
        [.. runs.Select(r => Value(r, key)).Distinct(StringComparer.OrdinalIgnoreCase).OrderBy(v => v, StringComparer.OrdinalIgnoreCase)];

    private static bool Holds(RunDescriptor run, (string Key, string Value) condition)
    {
        if (!Array.Exists(TextKeys, k => Same(k, condition.Key)) && Factor(run, condition.Key) is { } factor
            && double.TryParse(condition.Value, NumberStyles.Float, CultureInfo.InvariantCulture, out double wanted))
            return Math.Abs(factor - wanted) <= 1e-9 * Math.Max(Math.Abs(factor), Math.Abs(wanted));
        return Same(Value(run, condition.Key), condition.Value);
    }

    /// <summary>That no run has a key, and which there are.</summary>
    public static string NoKey(string key, IEnumerable<RunDescriptor> runs) => $"there is no '{key}'{Meant(key, Keys(runs))}";

    private static string Meant(string typed, string[] names)
    {
        const int Most = 12;
        if (Array.TrueForAll(names, n => n.Length == 0)) return "; no run says anything there";
        string[] shown = [.. names.Take(Most).Select(n => n.Length == 0 ? "nothing" : n)];
        string all = "; there are " + string.Join(", ", shown) + (names.Length > Most ? $" and {names.Length - Most} more" : "");
        return NearestName.To(typed, names.Where(n => n.Length > 0)) is { } nearest ? $"; did you mean {nearest}?" : all;
    }

    private static string Words((string Key, string Value) condition) => $"{condition.Key}={condition.Value}";

    private static bool Same(string a, string b) => a.Equals(b, StringComparison.OrdinalIgnoreCase);
}
