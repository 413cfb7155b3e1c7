using System.Globalization;
using Acquire.Recording;
using Acquire.Service.Runs;

namespace Acquire.Service.Plans;

/// <summary>A row of a plan: one run that is to be spun.</summary>
/// <param name="Row">Its number, by which runs name it; 1 or more.</param>
/// <param name="Block">Its block, 1 or more.</param>
/// <param name="Setup">What the plan says of the set-up, in the order of the sheet: text by <c>top</c>, <c>base</c>, <c>cover</c>, <c>operator</c>,
/// numbers by the factor's name; empty where the run has none of it.</param>
/// <param name="Speeds">The speeds that a run must pass to be good; null where it must only have ended by itself.</param>
internal sealed record PlanRow(int Row, int Block, IReadOnlyList<(string Key, string Value)> Setup, SpeedRange? Speeds)
{
    /// <summary>Keys whose values are text.</summary>
    public static readonly IReadOnlyList<string> TextKeys = ["top", "base", "cover", "operator"];

    /// <summary>The set-up for people, such as <c>cover=ring, clearance_mm=6</c>.</summary>
    public string Words => string.Join(", ", Setup.Select(s => $"{s.Key}={(s.Value.Length == 0 ? "none" : s.Value)}"));

    /// <summary>Whether a key is one of the texts.</summary>
    public static bool IsText(string key) => TextKeys.Contains(key, StringComparer.Ordinal);

    /// <summary>A set-up with what this row says in it.</summary>
    public RunSetup In(RunSetup usual)
    {
        RunSetup setup = usual;
        var factors = new SortedDictionary<string, double>(usual.Factors.ToDictionary(), StringComparer.Ordinal);
        foreach ((string key, string value) in Setup)
        {
            switch (key)
            {
                case "top": setup = setup with { Top = value }; break;
                case "base": setup = setup with { Base = value }; break;
                case "cover": setup = setup with { Cover = value }; break;
                case "operator": setup = setup with { Operator = value }; break;
                default:
                    factors.Remove(key);
                    if (value.Length > 0) factors[key] = double.Parse(value, CultureInfo.InvariantCulture);
                    break;
            }
        }

        return setup with { Factors = factors };
    }

    /// <summary>What of a set-up is not as this row says, for people; null where all is.</summary>
    public string? Differs(RunSetup setup)
    {
        RunSetup wanted = In(setup);
        if (wanted.Factors.SequenceEqual(setup.Factors.OrderBy(f => f.Key, StringComparer.Ordinal)) && wanted with { Factors = setup.Factors } == setup) return null;
        return string.Join(", ", Setup.Where(s => Value(wanted, s.Key) != Value(setup, s.Key)).Select(s => $"{s.Key} {Named(Value(setup, s.Key))} instead of {Named(s.Value)}"));
    }

    private static string Named(string value) => value.Length == 0 ? "none" : value;

    private static string Value(RunSetup setup, string key) => key switch
    {
        "top" => setup.Top,
        "base" => setup.Base,
        "cover" => setup.Cover,
        "operator" => setup.Operator,
        _ => setup.Factors.TryGetValue(key, out double value) ? value.ToString("R", CultureInfo.InvariantCulture) : "",
    };
}
