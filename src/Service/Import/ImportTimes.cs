using System.Globalization;

namespace Acquire.Service.Import;

/// <summary>Units of time that a file may have.</summary>
internal static class TimeUnits
{
    /// <summary>Each with the seconds in it.</summary>
    public static readonly IReadOnlyList<(string Name, decimal Seconds)> All = [("s", 1), ("ms", 1e-3m), ("us", 1e-6m), ("ns", 1e-9m)];
}

/// <summary>Times of a file, rising, in nanoseconds.</summary>
/// <param name="Rows">The rows that are left, in order.</param>
/// <param name="Ns">Their times, ns, as they stand in the file.</param>
internal sealed record ImportTimes(IReadOnlyList<ImportRow> Rows, IReadOnlyList<long> Ns)
{
    private const decimal LongestS = 9e9m;
    private const decimal NsPerS = 1e9m;

    /// <summary>From moments: those that do not rise are left out, as few as can be.</summary>
    public static ImportTimes OfMoments(ImportTable table, decimal unitS)
    {
        var rows = new List<ImportRow>();
        var ns = new List<long>();
        foreach (ImportRow row in table.Rows)
        {
            if (Math.Abs(row.Time) > LongestS / unitS)
            {
                table.LeftOut.Add(row.Line, LeftOutKind.CannotBe, $"found {Text(row.Time)}, expected a time within 285 years of 0; is --unit right?");
                continue;
            }

            rows.Add(row);
            ns.Add((long)Math.Round(row.Time * unitS * NsPerS));
        }

        int[] rise = TimeOrder.LongestRise(ns);
        int kept = 0;
        for (int i = 0; i < rows.Count; i++)
        {
            if (kept < rise.Length && rise[kept] == i)
            {
                kept++;
                continue;
            }

            Refuse(table, rows, ns, i, kept > 0 ? rise[kept - 1] : -1, kept < rise.Length ? rise[kept] : -1);
        }

        table.LeftOut.Trim();
        return new ImportTimes([.. rise.Select(i => rows[i])], [.. rise.Select(i => ns[i])]);
    }

    /// <summary>From the intervals between pulses, added up: the first pulse is at 0, each row ends in another.</summary>
    public static ImportTimes OfIntervals(ImportTable table, decimal unitS)
    {
        var rows = new List<ImportRow>();
        var ns = new List<long>();
        decimal sum = 0;
        foreach (ImportRow row in table.Rows)
        {
            bool fits = row.Time > 0 && row.Time <= LongestS / unitS && sum + (row.Time * unitS) <= LongestS;
            decimal next = fits ? sum + (row.Time * unitS) : 0;
            if (!fits || (long)Math.Round(next * NsPerS) <= (ns.Count > 0 ? ns[^1] : 0))
            {
                table.LeftOut.Add(row.Line, LeftOutKind.CannotBe, $"found {Text(row.Time)}, expected an interval of a nanosecond or more, 285 years in all at the most");
                continue;
            }

            if (rows.Count == 0)
            {
                rows.Add(row);
                ns.Add(0);
            }

            sum = next;
            rows.Add(row);
            ns.Add((long)Math.Round(sum * NsPerS));
        }

        table.LeftOut.Trim();
        return new ImportTimes(rows, ns);
    }

    private static void Refuse(ImportTable table, List<ImportRow> rows, List<long> ns, int at, int before, int after)
    {
        string found = $"found {Text(rows[at].Time)}";
        if (before >= 0 && ns[at] == ns[before])
            table.LeftOut.Add(rows[at].Line, LeftOutKind.Repeats, $"{found}, the time of line {rows[before].Line} again, expected a later one");
        else if (before >= 0 && ns[at] < ns[before])
            table.LeftOut.Add(rows[at].Line, LeftOutKind.OutOfOrder, $"{found}, back from {Text(rows[before].Time)} in line {rows[before].Line}, expected a later time");
        else if (after >= 0 && ns[at] == ns[after])
            table.LeftOut.Add(rows[at].Line, LeftOutKind.Repeats, $"{found}, the time of line {rows[after].Line} too, expected an earlier one");
        else
            table.LeftOut.Add(rows[at].Line, LeftOutKind.OutOfOrder, $"{found}, ahead of the lines that follow{(after >= 0 ? $" ({Text(rows[after].Time)} in line {rows[after].Line})" : "")}, expected an earlier time");
    }

    private static string Text(decimal value)
    {
        string text = value.ToString(CultureInfo.InvariantCulture);
        return text.Length > 40 ? text[..40] + "…" : text;
    }
}
