namespace Acquire.Conditioning;

/// <summary>Puts a row of pulses that comes as marks would after a long silence in the place of what the live tracker made of it, where it
/// explains clearly more.</summary>
internal static class LateRow
{
    private const int LongMarks = 60;      // a stretch of so many is sure
    private const int Broken = 6;          // a step of more than so many marks ends a stretch
    private const double SilenceS = 1;
    private const double SilenceTurns = 6;
    private const double Slowest = 0.12;   // of the speed before the silence
    private const double Faster = 1.02;
    private const double Clearly = 1.2;

    /// <summary>Looks behind the last stretch that is sure.</summary>
    /// <param name="table">Marks of all locks as they came.</param>
    /// <param name="starts">The marks with which a lock begins, by their indices; changed with the marks.</param>
    public static void Join(MarkTable table, HashSet<int> starts)
    {
        int last = LastOfLong(table, starts);
        if (last < 0)
            return;
        double speed = table.Speed(last - LongMarks + 1, last);
        double fromS = table.At(last) + Math.Max(SilenceS, SilenceTurns / speed);
        int from = table.Marks[last].Pulse + 1;
        while (from < table.TimeS.Length && table.TimeS[from] < fromS)
            from++;
        if (from >= table.LightFrom)
            return;
        List<MarkAt> row = Row(table, from, table.LightFrom - 1, speed * table.MarksPerTurn);
        if (row.Count == 0 || row.Count < Clearly * Longest(table, starts, row))
            return;
        List<MarkAt> marks = table.Marks;
        var joined = new List<MarkAt>(marks.Count + row.Count);
        HashSet<int> begins = [];
        int next = 0;
        for (; next < marks.Count && marks[next].Pulse < row[0].Pulse; next++)
            Keep(next);
        begins.Add(joined.Count);
        joined.AddRange(row);
        while (next < marks.Count && marks[next].Pulse <= row[^1].Pulse)
            next++;
        begins.Add(joined.Count);
        for (; next < marks.Count; next++)
            Keep(next);
        table.Marks = joined;
        starts.Clear();
        starts.UnionWith(begins);

        void Keep(int mark)
        {
            if (starts.Contains(mark))
                begins.Add(joined.Count);
            joined.Add(marks[mark]);
        }
    }

    private static List<MarkAt> Row(MarkTable table, int from, int to, double marksPerS)
    {
        int[] pulses = [.. Enumerable.Range(from, to - from + 1).Where(i => !table.Follows(i))];
        double[] timeS = [.. pulses.Select(i => table.TimeS[i])];
        return [.. RowSearch.Find(timeS, timeS.Length, 1 / (Faster * marksPerS), 1 / (Slowest * marksPerS)).Select(p => new MarkAt(pulses[p.At], p.Step))];
    }

    // The last mark of the last stretch that is long.
    private static int LastOfLong(MarkTable table, HashSet<int> starts)
    {
        int to = table.Marks.Count - 1;
        for (int m = to; m >= 0; m--)
        {
            if (m > 0 && Follows(table, starts, m))
                continue;
            if (to - m + 1 >= LongMarks)
                return to;
            to = m - 1;
        }

        return -1;
    }

    // How many marks of one stretch lie within the row at most.
    private static int Longest(MarkTable table, HashSet<int> starts, List<MarkAt> row)
    {
        (int longest, int count) = (0, 0);
        for (int m = 0; m < table.Marks.Count; m++)
        {
            if (table.Marks[m].Pulse < row[0].Pulse || table.Marks[m].Pulse > row[^1].Pulse)
                continue;
            count = m > 0 && Follows(table, starts, m) ? count + 1 : 1;
            longest = Math.Max(longest, count);
        }

        return longest;
    }

    private static bool Follows(MarkTable table, HashSet<int> starts, int m) =>
        table.Marks[m].Number - table.Marks[m - 1].Number is > 0 and <= Broken && !starts.Contains(m);
}
