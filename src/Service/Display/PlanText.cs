using System.Globalization;
using Acquire.Results.Planning;
using Acquire.Results.Statistics;
using Acquire.Service.Plans;
using Acquire.Service.Runs;

namespace Acquire.Service.Display;

/// <summary>A plan for people.</summary>
internal static class PlanText
{
    /// <summary>What the plan is, in a line.</summary>
    public static string Title(PlanSheet sheet, int seed, PlanRepeats repeats)
    {
        int setups = sheet.Rows.Count / repeats.Repeats;
        return FormattableString.Invariant($"Plan {sheet.Id}: {Count(setups, "set-up")}, each spun {Times(repeats.Repeats)}: {Count(sheet.Rows.Count, "run")} in {Count(sheet.Blocks, "block")}, the order in each by chance (--seed {seed} gives the same)");
    }

    /// <summary>What so many repeats rest on and can show.</summary>
    public static IEnumerable<string> Reasons(PlanRepeats repeats, SpeedRange range)
    {
        string odds = FormattableString.Invariant($"with a probability of {100 * repeats.Power:0.#} % ({100 * repeats.Level:0.#} % level)");
        if (repeats.Scatter is { } scatter) yield return $"Runs of one set-up scatter by {Percent(scatter.Sd)} % {From(repeats, scatter, range)}.";
        if (repeats.Needed is { } needed)
        {
            yield return $"A difference of {Percent(Math.Exp(needed.Difference) - 1)} % between two set-ups is found {odds} by {Count(repeats.Repeats, "repeat")} of each.";
            if (!double.IsInfinity(needed.Scatter.DegreesOfFreedom))
                yield return $"Were the scatter just so, {Some(needed.AsItIs)} would do; over its interval it is {Some(needed.AtLeast)} to {Some(needed.AtMost)}. {Count(repeats.Repeats, "repeat")} hold{(repeats.Repeats == 1 ? "s" : "")} the probability as a mean over what the scatter may be.";
            if (needed.ByStudent != needed.AsItIs)
                yield return $"Student's test, which takes the scatter of both set-ups for one, would need {Some(needed.ByStudent)}; compare does not (Welch's test), which costs a little where runs are few.";
        }
        else if (double.IsFinite(repeats.SmallestShownPercent))
        {
            yield return $"So many repeats find a difference of {Percent(repeats.SmallestShownPercent / 100)} % between two set-ups {odds}, if runs scatter so; a smaller one they most likely miss.";
        }
        else if (repeats.Repeats == 1)
        {
            yield return "Each set-up is spun once: such runs show a difference only where the library tells how runs scatter; three repeats or more stand by themselves.";
        }
        else
        {
            yield return "What difference so many repeats can show nobody can say yet: the library has no set-up that was spun twice between these speeds (--scatter gives it otherwise).";
        }
    }

    /// <summary>How long the plan takes at the least; empty where the library does not tell.</summary>
    public static string Duration(PlanSheet sheet, PlanRepeats repeats) => !(repeats.UsualSpinS > 0) ? ""
        : $"At the {Numbers.Clock(repeats.UsualSpinS)} that a spin of the library usually lasts, that is {Numbers.Clock(repeats.UsualSpinS * sheet.Rows.Count)} of spinning.";

    /// <summary>Headings of a table of rows.</summary>
    public static string[] Headings(PlanSheet sheet) => [">row", ">block", .. sheet.Keys];

    /// <summary>A row of it.</summary>
    public static string[] Cells(PlanRow row) => [Number(row.Row), Number(row.Block), .. row.Setup.Select(s => s.Value.Length == 0 ? Numbers.None : s.Value)];

    /// <summary>When a run counts for its row.</summary>
    public static string Rule(PlanSheet sheet) => sheet.Rows[0].Speeds is { } speeds
        ? FormattableString.Invariant($"A run counts for its row where it can be timed from {speeds.FromRpm:0.#} to {speeds.ToRpm:0.#} rpm; one that cannot, or that acquire edit RUN --spoilt REASON marks, is kept, and its row comes up again.")
        : "A run counts for its row where the spin ended by itself; one that did not, or that acquire edit RUN --spoilt REASON marks, is kept, and its row comes up again.";

    /// <summary>So many of something.</summary>
    public static string Count(int count, string what) => FormattableString.Invariant($"{count} {what}{(count == 1 ? "" : "s")}");

    private static string From(PlanRepeats repeats, KnownScatter scatter, SpeedRange range) => repeats.Library is not { } library ? "as --scatter says"
        : FormattableString.Invariant($"from {range.FromRpm:0.#} to {range.ToRpm:0.#} rpm: the library's {library.Runs} runs of {Count(library.Groups, "set-up")} spun twice or more, {Count(library.DegreesOfFreedom, "degree")} of freedom, so that it may be {Percent(scatter.LowSd)} to {Percent(scatter.HighSd)} % (95 %)");

    private static string Times(int times) => times == 1 ? "once" : times == 2 ? "twice" : FormattableString.Invariant($"{times} times");

    private static string Some(int? repeats) => repeats is { } n ? Number(n) : $"more than {Power.MostRuns.ToString(CultureInfo.InvariantCulture)}";

    private static string Number(int number) => number.ToString(CultureInfo.InvariantCulture);

    /// <summary>A share as percent, with two digits or so.</summary>
    public static string Percent(double share) => (100 * share).ToString(Math.Abs(share) >= 0.1 ? "0" : Math.Abs(share) >= 0.00995 ? "0.0" : "0.00", CultureInfo.InvariantCulture);
}
