namespace Acquire.Conditioning;

/// <summary>Renumbers marks that the live tracker counted at a multiple of their speed until it found that out.</summary>
/// <remarks>There each mark follows the one before by the same number of places, more than one. Marks do not go unseen by turns, one seen
/// and one not; only where some are gone for good do they come so, and then at the speed of those before and after.</remarks>
internal static class EvenSteps
{
    private const int Least = 6;        // steps in such a row
    private const double Alike = 1.4;   // how much faster than its neighbours a row may be and still be theirs
    private const int Beside = 4;       // marks

    /// <summary>Renumbers the rows, and what follows each.</summary>
    public static void Renumber(MarkTable table)
    {
        var renumbered = new List<MarkAt>(table.Marks.Count);
        long shift = 0;
        for (int m = 0; m < table.Marks.Count;)
        {
            (int end, long step) = Row(table.Marks, m);
            bool isOver = step > 1 && end - m >= Least && IsOver(table, m, end, step);
            for (int k = m; k < Math.Max(end, m + 1); k++)
            {
                renumbered.Add(table.Marks[k] with { Number = table.Marks[k].Number - shift });
                shift += isOver ? step - 1 : 0;
            }

            m = Math.Max(end, m + 1);
        }

        if (shift > 0)
            table.Marks = renumbered;
    }

    // The last mark to which equal steps lead from one.
    private static (int End, long Step) Row(List<MarkAt> marks, int first)
    {
        if (first + 1 == marks.Count)
            return (first, 0);
        long step = marks[first + 1].Number - marks[first].Number;
        int end = first + 1;
        while (end + 1 < marks.Count && marks[end + 1].Number - marks[end].Number == step)
            end++;
        return (end, step);
    }

    private static bool IsOver(MarkTable table, int first, int end, long step)
    {
        if (table.MarksPerTurn % step != 0)
            return true;
        double speed = table.Speed(first, end);
        double before = first > Beside ? table.Speed(first - Beside, first) : double.PositiveInfinity;
        double after = end + Beside < table.Marks.Count ? table.Speed(end, end + Beside) : double.PositiveInfinity;
        return speed > Alike * Math.Min(before, after);
    }
}
