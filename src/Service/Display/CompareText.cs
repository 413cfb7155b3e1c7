using System.Globalization;
using Acquire.Results.Comparison;
using Acquire.Results.Statistics;

namespace Acquire.Service.Display;

/// <summary>A comparison for people: what it comes to, the figures, and what to keep in mind.</summary>
/// <param name="Result">The comparison.</param>
/// <param name="BaselineName">The baseline as it was asked for.</param>
internal sealed record CompareText(RunComparison Result, string BaselineName)
{
    /// <summary>Headings of the table of variants; &gt; sets a column flush right.</summary>
    public static readonly string[] VariantHeadings = ["variant", ">runs", ">change/%", "95 % interval/%", ">p (Welch)", ">p (permutation)", ">whole spin/%", "95 % interval/% "];

    private string Range => string.Create(CultureInfo.InvariantCulture, $"{Result.FromRpm:0.#} to {Result.ToRpm:0.#} rpm");

    /// <summary>What was compared.</summary>
    public string Title => $"Decay time from {Range}, beside {BaselineName} ({Runs(Result.Baseline.Count)})";

    /// <summary>Headings of the table of bands.</summary>
    public string[] BandHeadings => ["band/rpm", .. Result.Variants.SelectMany(v => new[] { ">" + (Result.Variants.Count > 1 ? v.Name + "/%" : "change/%"), "95 % interval/%", ">p (Holm)" })];

    /// <summary>Writes it.</summary>
    public void Write(Surroundings surroundings)
    {
        TextWriter output = surroundings.Out;
        output.WriteLine(Title);
        output.WriteLine();
        foreach (string verdict in Verdicts()) output.WriteLine(verdict);
        output.WriteLine();
        WriteTable(surroundings, VariantHeadings, VariantRows());
        output.WriteLine();
        WriteTable(surroundings, BandHeadings, BandRows());
        WriteRemarks(surroundings, Remarks());

        output.Flush();
    }

    /// <summary>A line for each variant.</summary>
    public IEnumerable<string> Verdicts() => Result.Variants.Select(v => $"{v.Name} {ChangeWords.Verdict(v, Result.FromRpm, Result.ToRpm)}.");

    /// <summary>A row for each variant.</summary>
    public IEnumerable<string[]> VariantRows() => Result.Variants.Select(v => new[]
    {
        v.Name, v.Runs.Count.ToString(CultureInfo.InvariantCulture), ChangeWords.Value(v.Change), ChangeWords.Interval(v.Change), ChangeWords.P(v.Change.P),
        v.Permutation is { } p ? ChangeWords.P(p.P) : Numbers.None,
        v.WholeSpin is { } w ? ChangeWords.Value(w.Change) : Numbers.None, v.WholeSpin is { } s ? ChangeWords.Interval(s.Change) : Numbers.None,
    });

    /// <summary>A row for each band.</summary>
    public IEnumerable<string[]> BandRows() => Enumerable.Range(0, Result.Variants[0].Bands.Count).Select(i => (string[])
    [
        $"{ChangeWords.Rpm(Result.Variants[0].Bands[i].FromRpm)}–{ChangeWords.Rpm(Result.Variants[0].Bands[i].ToRpm)}",
        .. Result.Variants.SelectMany(v => v.Bands[i].Change is { } c
            ? [ChangeWords.Value(c), ChangeWords.Interval(c), ChangeWords.P(v.Bands[i].AdjustedP)]
            : new[] { Numbers.None, Numbers.None, Numbers.None }),
    ]);

    /// <summary>What else is to be said, under headings.</summary>
    public IEnumerable<(string Heading, IReadOnlyList<string> Lines)> Remarks()
    {
        string[] warnings = [.. Result.Variants.SelectMany(v => v.Warnings.Select(w => (Result.Variants.Count > 1 ? Of(v) + w : ChangeWords.Sentence(w)) + "."))];
        if (warnings.Length > 0) yield return ("Could also explain it:", warnings);
        yield return ("How sure:", [.. HowSure().Select(s => Result.Variants.Count > 1 ? s : ChangeWords.Sentence(s))]);
        if (Result.Outlying.Count > 0)
            yield return ("Far from the others, and counted all the same (--leave-out takes one away):", [.. Result.Outlying.Select(o => $"{o.Run}: {o.Why}")]);
        if (Result.LeftOut.Count > 0) yield return ("Left out:", [.. Result.LeftOut.Select(o => $"{o.Run}: {o.Why}")]);
        if (Result.Notes.Count > 0) yield return ("Note:", Result.Notes);
    }

    private IEnumerable<string> HowSure()
    {
        Repeatability scatter = Result.Scatter;
        yield return scatter.IsKnown
            ? string.Create(CultureInfo.InvariantCulture, $"Repeatability of one run: {100 * scatter.Sd:F1} %, from {scatter.Runs} runs in {scatter.Groups} set-ups ({scatter.DegreesOfFreedom} degrees of freedom).")
            : "No set-up was spun twice: no repeatability is known.";
        foreach (VariantResult v in Result.Variants)
        {
            if (v.Change.HasInterval)
                yield return string.Create(CultureInfo.InvariantCulture, $"{Of(v)}the smallest change that these runs would show four times in five is {v.SmallestShownPercent:F1} %.");
            if (v.Change.Basis == ChangeBasis.LibraryScatter)
                yield return $"{Of(v)}a group has one run only: the interval rests on the repeatability above.";
            if (v.ByLibrary is { } pooled && v.Change.Logs.DegreesOfFreedom < 6)
                yield return $"{Of(v)}few runs make a wide interval; by the repeatability above it would be {ChangeWords.Interval(pooled)} %.";
            if (v.Permutation is { } p)
                yield return p.IsExact ? $"{Of(v)}permutation test over all {Numbers.Count(p.Arrangements)} arrangements; the least it can give here is {ChangeWords.P(p.Least)}." : $"{Of(v)}permutation test over {Numbers.Count(p.Arrangements)} arrangements drawn with a fixed seed.";
            if (v.PercentBeforeAir is { } before)
                yield return string.Create(CultureInfo.InvariantCulture, $"{Of(v)}brought to air of 20 °C, 1013.25 hPa and 50 %: the air's share of the loss only, as each run's loss law has it. As spun the change was {before:+0.0;−0.0} %.");
            foreach (string extended in v.WholeSpin?.Extended ?? [])
                yield return $"{Of(v)}whole spin, {extended}; that is not in the interval.";
            if (v.WholeSpin is null)
                yield return $"{Of(v)}the runs were not seen over enough speeds to tell of the whole spin.";
        }

        TimedRun[] assumed = [.. Result.Variants.SelectMany(v => v.Runs).Concat(Result.Baseline).Where(r => r.Air is { IsHumidityAssumed: true }).DistinctBy(r => r.Name)];
        if (Result.InReferenceAir && assumed.Length > 0)
            yield return string.Create(CultureInfo.InvariantCulture, $"The humidity of {Runs(assumed.Length)} was not measured and is taken as 50 %: in dry or in saturated air the time would be off by {100 * assumed.Max(r => r.Air!.HumidityLimit(Result.FromRpm, Result.ToRpm)):F2} % at the most.");
        if (!Result.InReferenceAir) yield return "The air of some runs is not known: times are as spun, not brought to reference air.";
        if (Result.Variants[0].Bands.Count > 1) yield return "Bands are many: their p is raised by Holm's rule for it, their intervals stand each for itself.";
        if (Result.Variants.Count > 1)
            yield return "Variants are many: by Holm's rule p is " + string.Join(", ", Result.Variants.Select(v => $"{ChangeWords.P(v.AdjustedP)} for {v.Name}")) + ".";
    }

    private string Of(VariantResult variant) => Result.Variants.Count > 1 ? variant.Name + ": " : "";

    private static string Runs(int count) => count == 1 ? "1 run" : string.Create(CultureInfo.InvariantCulture, $"{count} runs");

    /// <summary>Writes remarks below their headings.</summary>
    internal static void WriteRemarks(Surroundings surroundings, IEnumerable<(string Heading, IReadOnlyList<string> Lines)> remarks)
    {
        foreach ((string heading, IReadOnlyList<string> lines) in remarks)
        {
            surroundings.Out.WriteLine();
            surroundings.Out.WriteLine(heading);
            foreach (string line in lines) surroundings.Out.WriteLine("  " + line);
        }
    }

    /// <summary>Writes a table whose headings are marked as in a page.</summary>
    public static void WriteTable(Surroundings surroundings, string[] headings, IEnumerable<string[]> rows)
    {
        string[] names = [.. headings.Select(h => h.TrimStart('>'))];
        var table = new TextTable(names);
        table.AlignRight([.. headings.Where(h => h.StartsWith('>')).Select(h => h[1..])]);
        foreach (string[] row in rows) table.Add(row);
        table.Write(surroundings);
    }
}
