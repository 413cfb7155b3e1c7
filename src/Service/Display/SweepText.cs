using System.Globalization;
using Acquire.Results.Sweep;

namespace Acquire.Service.Display;

/// <summary>A sweep for people.</summary>
/// <param name="Result">The sweep.</param>
/// <param name="Factor">The factor.</param>
/// <param name="By">What runs are parted by; empty where they are not.</param>
/// <param name="BaselineName">The baseline as it was asked for; empty where there is none.</param>
internal sealed record SweepText(FactorSweep Result, string Factor, string By, string BaselineName)
{
    private bool HasGain => Result.Baseline.Count > 0;

    /// <summary>What was swept.</summary>
    public string Title => string.Create(
        CultureInfo.InvariantCulture, $"Decay time from {Result.FromRpm:0.#} to {Result.ToRpm:0.#} rpm against {Factor}{(By.Length > 0 ? " by " + By : "")}{(HasGain ? ", gain over " + BaselineName : "")}");

    /// <summary>Headings of the table of levels; &gt; sets a column flush right.</summary>
    public string[] Headings =>
    [
        .. By.Length > 0 ? [By] : Array.Empty<string>(), ">" + Factor, ">runs", ">mean/s", "95 % interval/s", .. HasGain ? [">gain/%", "95 % interval/%"] : Array.Empty<string>(), "may be best",
    ];

    /// <summary>Writes it.</summary>
    public void Write(Surroundings surroundings)
    {
        TextWriter output = surroundings.Out;
        output.WriteLine(Title);
        output.WriteLine();
        foreach (string verdict in Verdicts()) output.WriteLine(verdict);
        output.WriteLine();
        CompareText.WriteTable(surroundings, Headings, Rows());
        CompareText.WriteRemarks(surroundings, Remarks());

        output.Flush();
    }

    /// <summary>A line for each category.</summary>
    public IEnumerable<string> Verdicts() => Result.Curves.Select(c => Of(c) + Verdict(c) + ".");

    /// <summary>A row for each level.</summary>
    public IEnumerable<string[]> Rows() => Result.Curves.SelectMany(c => c.Levels.Select(l => (string[])
    [
        .. By.Length > 0 ? [Category(c)] : Array.Empty<string>(), Value(l.Value), l.Runs.ToString(CultureInfo.InvariantCulture), Seconds(l, l.MeanS),
        double.IsFinite(l.LowS) ? $"{Seconds(l, l.LowS)} to {Seconds(l, l.HighS)}" : Numbers.None,
        .. HasGain ? [l.Gain is { } g ? ChangeWords.Value(g) : Numbers.None, l.Gain is { } h ? ChangeWords.Interval(h) : Numbers.None] : Array.Empty<string>(),
        l.MayBeBest ? "yes" : "no",
    ]));

    /// <summary>What else is to be said, under headings.</summary>
    public IEnumerable<(string Heading, IReadOnlyList<string> Lines)> Remarks()
    {
        if (Result.Warnings.Count > 0) yield return ("Could also explain it:", [.. Result.Warnings.Select(w => (By.Length > 0 ? w : ChangeWords.Sentence(w)) + ".")]);
        yield return ("How sure:", [.. HowSure().Select(s => By.Length > 0 ? s : ChangeWords.Sentence(s))]);
        if (Result.LeftOut.Count > 0) yield return ("Left out:", [.. Result.LeftOut.Select(o => $"{o.Run}: {o.Why}")]);
    }

    private IEnumerable<string> HowSure()
    {
        foreach (FactorCurve curve in Result.Curves)
        {
            yield return $"{Of(curve)}curve: {curve.Model}{(curve.Curve.Count > 0 ? " of the logarithm of the decay time; the best is where it is highest, its interval where its slope may be none" : "")}.";
            yield return curve.Scatter.IsKnown
                ? string.Create(CultureInfo.InvariantCulture, $"{Of(curve)}scatter of one run: {100 * curve.Scatter.Sd:F1} % ({curve.Scatter.DegreesOfFreedom} degrees of freedom).")
                : $"{Of(curve)}no value was spun twice and no repeatability is known: there are no intervals.";
            if (double.IsFinite(curve.Differences.P))
                yield return $"{Of(curve)}whether the values differ at all: F test, p {ChangeWords.P(curve.Differences.P)}.";
        }

        if (HasGain) yield return $"The curve's band leaves out the baseline's own uncertainty, which moves all of it alike; the intervals of the gains have it.";
        yield return "Which values may be the best: multiple comparisons with the best (Hsu), 95 % for all of them together.";
    }

    private string Verdict(FactorCurve curve)
    {
        string best = $"best at {Factor} {Best(curve)}";
        string interval = double.IsFinite(curve.BestLow) ? $" (95 % interval {Value(Round(curve, curve.BestLow))} to {Value(Round(curve, curve.BestHigh))})" : "; no interval, since nothing is repeated";
        string edge = double.IsFinite(curve.BestLow) && curve.ReachesEdge ? "; that reaches the end of what was tried, so that the best may lie outside" : "";
        double[] ties = [.. curve.Levels.Where(l => l.MayBeBest).Select(l => l.Value)];
        string tied = !curve.Scatter.IsKnown ? "" : ties.Length == curve.Levels.Count ? "; none of the values tried is shown to be worse than the best"
            : ties.Length == 1 ? $"; of the values tried only {Value(ties[0])} may be the best" : $"; of the values tried {string.Join(", ", ties.Select(Value))} tie";
        return best + interval + edge + tied;
    }

    private static string Best(FactorCurve curve) => Value(Round(curve, curve.Best));

    /// <summary>A value of the factor with the digits that its interval or the range warrants.</summary>
    public static double Round(FactorCurve curve, double value)
    {
        double width = double.IsFinite(curve.BestHigh) && curve.BestHigh > curve.BestLow ? curve.BestHigh - curve.BestLow : 0.1 * (curve.Levels[^1].Value - curve.Levels[0].Value);
        int decimals = Math.Clamp(1 - (int)Math.Floor(Math.Log10(width)), 0, 12);
        return Math.Round(value, decimals);
    }

    /// <summary>A value of the factor.</summary>
    public static string Value(double value) => value.ToString("G6", CultureInfo.InvariantCulture);

    /// <summary>A category's name.</summary>
    public static string Category(FactorCurve curve) => curve.Category.Length > 0 ? curve.Category : "not given";

    private string Of(FactorCurve curve) => By.Length > 0 ? $"{By} {Category(curve)}: " : "";

    private static string Seconds(FactorLevel level, double seconds) => Numbers.Measured(seconds, (level.HighS - level.LowS) / 4);
}
