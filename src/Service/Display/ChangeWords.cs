using System.Globalization;
using Acquire.Results.Comparison;

namespace Acquire.Service.Display;

/// <summary>Changes in percent and what they come to, in words.</summary>
internal static class ChangeWords
{
    private const int MostRunsAsked = 100;

    /// <summary>A number of percent with its sign, one decimal where its interval is narrow.</summary>
    public static string Signed(double percent, double width)
    {
        if (!double.IsFinite(percent)) return Numbers.None;
        string text = Math.Abs(percent).ToString(double.IsFinite(width) && width > 25 ? "F0" : "F1", CultureInfo.InvariantCulture);
        return text is "0" or "0.0" ? text : (percent < 0 ? "−" : "+") + text;
    }

    /// <summary>A change with its interval, such as <c>+18 % (12 to 24)</c>.</summary>
    public static string WithInterval(Change change) =>
        change.HasInterval ? $"{Value(change)} % ({Interval(change)})" : $"{Value(change)} %";

    /// <summary>The change alone.</summary>
    public static string Value(Change change) => Signed(change.Percent, change.HighPercent - change.LowPercent);

    /// <summary>Its interval alone.</summary>
    public static string Interval(Change change)
    {
        if (!change.HasInterval) return Numbers.None;
        double width = change.HighPercent - change.LowPercent;
        return Signed(change.LowPercent, width) + " to " + Signed(change.HighPercent, width);
    }

    /// <summary>A probability.</summary>
    public static string P(double p) => double.IsNaN(p) ? Numbers.None
        : p < 1e-4 ? "<0.0001" : p.ToString(p < 0.001 ? "F4" : p < 0.1 ? "F3" : "F2", CultureInfo.InvariantCulture);

    /// <summary>What a variant comes to, in one line to act on.</summary>
    public static string Verdict(VariantResult variant, double fromRpm, double toRpm)
    {
        Change change = variant.Change;
        string range = string.Create(CultureInfo.InvariantCulture, $"between {fromRpm:0.#} and {toRpm:0.#} rpm");
        if (!change.HasInterval)
            return $"no verdict: {Value(change)} % {range}, but one run each: no repeatability known, so that nobody can say whether it is more than chance. The measurement alone is good to {Number(1.96 * change.UPercent)} % (95 %); spin each again, three times or more";
        if (!change.IsShown)
            return $"no difference shown {range}: {WithInterval(change)}. {NotSeen(variant)}";
        string where = Where(variant.Bands);
        string whole = variant.WholeSpin is { } spin
            ? string.Create(CultureInfo.InvariantCulture, $"; {WithInterval(spin.Change)} on the whole spin from {spin.StartRpm:F0} rpm") : "";
        return $"{(change.Percent > 0 ? "helps" : "costs")}: {WithInterval(change)} {range}{(where.Length > 0 ? "; " + where : "")}{whole}";
    }

    private static string NotSeen(VariantResult variant)
    {
        string seen = $"Less than {Number(variant.SmallestShownPercent)} % these runs would most likely have missed (80 % power)";
        int now = Math.Min(variant.Change.Baseline, variant.Change.Variant);
        string size = Number(Math.Abs(variant.Change.Percent));
        return variant.RunsNeeded is { } needed && needed <= MostRunsAsked
            ? $"{seen}; {Math.Max(1, needed - now)} more runs each would settle {size} %"
            : $"{seen}; to settle a difference as small as the {size} % seen would take over {MostRunsAsked} runs each";
    }

    // Only bands in which the change is shown with regard to their number are named.
    private static string Where(IReadOnlyList<BandChange> bands)
    {
        string up = Ranges(bands, b => b is { IsShown: true, Change.Percent: > 0 });
        string down = Ranges(bands, b => b is { IsShown: true, Change.Percent: < 0 });
        if (bands.All(b => b.IsShown) && (up.Length == 0 || down.Length == 0)) return "shown in every band";
        if (up.Length > 0 && down.Length > 0) return $"longer {up}, shorter {down}";
        return up.Length + down.Length > 0 ? "shown " + up + down : "in no single band enough to be shown";
    }

    private static string Ranges(IReadOnlyList<BandChange> bands, Func<BandChange, bool> holds)
    {
        var parts = new List<string>();
        for (int i = 0; i < bands.Count; i++)
        {
            if (!holds(bands[i])) continue;
            int last = i;
            while (last + 1 < bands.Count && holds(bands[last + 1])) last++;
            parts.Add(i == 0 && last < bands.Count - 1 ? $"above {Rpm(bands[last].ToRpm)} rpm"
                : last == bands.Count - 1 && i > 0 ? $"below {Rpm(bands[i].FromRpm)} rpm"
                : $"from {Rpm(bands[i].FromRpm)} to {Rpm(bands[last].ToRpm)} rpm");
            i = last;
        }

        return string.Join(" and ", parts);
    }

    /// <summary>A text that begins with a capital letter.</summary>
    public static string Sentence(string text) => char.ToUpperInvariant(text[0]) + text[1..];

    /// <summary>A speed.</summary>
    public static string Rpm(double rpm) => rpm.ToString("0.#", CultureInfo.InvariantCulture);

    private static string Number(double value) => !double.IsFinite(value) ? Numbers.None
        : value.ToString(value >= 10 ? "F0" : value >= 0.1 ? "F1" : "F2", CultureInfo.InvariantCulture);
}
