namespace Acquire.Conditioning;

/// <summary>Tells which mark is which by their intervals: no two marks are spaced quite alike.</summary>
internal static class MarkPattern
{
    /// <summary>By how many marks a stretch must be renumbered so that its intervals agree with the places of the marks; −1 where they do not
    /// tell.</summary>
    /// <param name="table">The marks.</param>
    /// <param name="from">Index of the first mark of the stretch.</param>
    /// <param name="to">Of the one after its last.</param>
    public static int Rotation(MarkTable table, int from, int to)
    {
        int n = table.MarksPerTurn;
        Span<double> misfits = stackalloc double[n];
        int last = Math.Min(to - 1, from + 400);
        for (int m = from + 1; m < last; m++)
        {
            long number = table.Marks[m].Number;
            if (table.Marks[m + 1].Number - table.Marks[m - 1].Number != 2)
                continue;
            double share = (table.At(m) - table.At(m - 1)) / (table.At(m + 1) - table.At(m - 1));
            for (int r = 0; r < n; r++)
            {
                double before = table.Position(number + r - 1);
                double expected = (table.Position(number + r) - before) / (table.Position(number + r + 1) - before);
                misfits[r] += Math.Min(0.1, Math.Abs(share - expected));
            }
        }

        int best = 0;
        double second = double.PositiveInfinity;
        for (int r = 1; r < n; r++)
        {
            if (misfits[r] < misfits[best])
                (best, second) = (r, misfits[best]);
            else
                second = Math.Min(second, misfits[r]);
        }

        return misfits[best] < 0.75 * second ? best : -1;
    }
}
