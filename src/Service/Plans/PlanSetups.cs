using System.Globalization;
using Acquire.Service.Capture;

namespace Acquire.Service.Plans;

/// <summary>The set-ups of a plan: every combination of the values of its factors, and those named beside it.</summary>
/// <param name="Keys">What of the set-up the plan says.</param>
/// <param name="Setups">The set-ups: a value for each key, empty where a set-up has none of it.</param>
internal sealed record PlanSetups(IReadOnlyList<string> Keys, IReadOnlyList<IReadOnlyList<string>> Setups)
{
    private const string Factor = "--factor";
    private const string Also = "--also";

    /// <summary>Makes them.</summary>
    /// <param name="factors"><c>name=v1,v2,…</c> each.</param>
    /// <param name="also"><c>key=value[,key=value]</c> each: one more set-up.</param>
    /// <param name="problems">What is wrong.</param>
    public static PlanSetups Of(IReadOnlyList<string> factors, IReadOnlyList<string> also, List<string> problems)
    {
        var keys = new List<string>();
        IEnumerable<Dictionary<string, string>> crossed = factors.Count > 0 ? [[]] : [];
        foreach (string given in factors)
        {
            if (Split(given, Factor, "name=value,value,…", problems) is not { } split) continue;
            if (keys.Contains(split.Key)) problems.Add($"{Factor}: '{split.Key}' is given twice; allowed is one list of values a name");
            else keys.Add(split.Key);
            string[] values = [.. split.Value.Split(',').Select(v => Checked(split.Key, v.Trim(), given, Factor, problems))];
            if (values.GroupBy(v => v).FirstOrDefault(g => g.Count() > 1) is { } twice) problems.Add($"{Factor}: '{given}' has {Named(twice.Key)} twice; allowed is each value once (--repeats says how often it is spun)");
            crossed = [.. crossed.SelectMany(s => values.Select(v => new Dictionary<string, string>(s) { [split.Key] = v }))];
        }

        Dictionary<string, string>[] setups = [.. crossed, .. also.Select(a => One(a, problems))];
        keys.AddRange(setups.SelectMany(s => s.Keys).Distinct().Except(keys).ToArray());
        string[][] all = [.. setups.Select(s => keys.Select(k => s.GetValueOrDefault(k, "")).ToArray())];
        if (problems.Count == 0 && all.GroupBy(s => string.Join('\n', s)).FirstOrDefault(g => g.Count() > 1) is { } same) problems.Add($"{Also}: the set-up {string.Join(", ", keys.Zip(same.First(), (k, v) => $"{k}={Named(v)}"))} is there already");
        return new PlanSetups(keys, all);
    }

    private static Dictionary<string, string> One(string given, List<string> problems)
    {
        var setup = new Dictionary<string, string>();
        foreach (string part in given.Split(','))
        {
            if (Split(part, Also, "key=value[,key=value]", problems) is not { } split) continue;
            if (!setup.TryAdd(split.Key, Checked(split.Key, split.Value, part, Also, problems))) problems.Add($"{Also}: '{split.Key}' is given twice in '{given}'; a set-up has one");
        }

        return setup;
    }

    private static (string Key, string Value)? Split(string given, string option, string allowed, List<string> problems)
    {
        if (CaptureSettings.SplitFactor(given) is not { Name.Length: > 0 } split)
        {
            problems.Add($"{option}: '{given}' on the command line; allowed is {allowed}");
            return null;
        }

        return (PlanRow.TextKeys.FirstOrDefault(k => k.Equals(split.Name, StringComparison.OrdinalIgnoreCase)) ?? split.Name, split.Value);
    }

    private static string Checked(string key, string value, string given, string option, List<string> problems)
    {
        var options = new CaptureOptions { Port = "none" };
        string text = value;
        if (PlanRow.IsText(key))
        {
            CaptureSettings.ByKey(key)!.TryRead(value, options);
        }
        else if (value.Length > 0 && double.TryParse(value, NumberStyles.Float, CultureInfo.InvariantCulture, out double number))
        {
            options.Factors[key] = number;
            text = number.ToString("R", CultureInfo.InvariantCulture);
        }
        else
        {
            problems.Add($"{option}: '{value}' in '{given}'; allowed is a number, or text for {string.Join(", ", PlanRow.TextKeys)} only");
            return text;
        }

        problems.AddRange(CaptureOptionsValidator.Problems(options).Select(p => $"{option}: '{given}'; allowed is {p.Allowed}"));
        return text;
    }

    private static string Named(string value) => value.Length == 0 ? "none" : value;
}
