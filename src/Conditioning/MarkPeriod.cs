namespace Acquire.Conditioning;

/// <summary>Finds after how many marks their spacing repeats: that many are on the body, whatever the set-up says.</summary>
/// <remarks>How early or late each mark comes between its neighbours is averaged over every p-th mark, for p from 1 to 8; the least p that
/// explains nearly as much as any does is the period. No hand places marks so evenly that their spacing shows no pattern: where
/// there is none to within some ten-thousandths, one mark was seen.</remarks>
internal static class MarkPeriod
{
    private const int Longest = 8;
    private const int LeastMarks = 400;
    private const int MostMarks = 60_000;
    private const double Clipped = 0.2;         // of the spacing: further off it is a glint
    private const double Explained = 0.97;      // of the variance that the best period explains
    private const double LeastPattern = 4e-4;   // of the spacing, root mean square; a period must explain more
    private const double NoPattern = 2e-4;      // less, and all are one and the same mark
    private const double SharpEnough = 5e-5;

    /// <summary>The period in marks; 0 where the marks do not tell.</summary>
    public static int Find(MarkTable table)
    {
        var sums = new double[Longest + 1, Longest];
        var counts = new int[Longest + 1, Longest];
        double squares = 0;
        int seen = 0;
        int from = Math.Max(1, (table.Marks.Count - MostMarks) / 2);
        for (int m = from; m + 1 < Math.Min(table.Marks.Count, from + MostMarks); m++)
        {
            long number = table.Marks[m].Number;
            if (table.Marks[m + 1].Number - number != 1 || number - table.Marks[m - 1].Number != 1)
                continue;
            double both = table.At(m + 1) - table.At(m - 1);
            double early = (2 * (table.At(m) - table.At(m - 1)) / both) - 1;
            if (Math.Abs(early) > Clipped)
                continue;
            seen++;
            squares += early * early;
            for (int p = 1; p <= Longest; p++)
            {
                int place = (int)(((number % p) + p) % p);
                sums[p, place] += early;
                counts[p, place]++;
            }
        }

        return seen < LeastMarks ? 0 : Choose(sums, counts, squares / seen, seen);
    }

    private static int Choose(double[,] sums, int[,] counts, double variance, int seen)
    {
        double most = 0;
        double[] explained = new double[Longest + 1];
        for (int p = 1; p <= Longest; p++)
        {
            for (int k = 0; k < p; k++)
                explained[p] += counts[p, k] > 0 ? sums[p, k] * sums[p, k] / counts[p, k] / seen : 0;
            if (p == 1)
                continue;
            explained[p] = Math.Max(0, explained[p] - explained[1] - ((p - 1) * variance / seen)); // less what slowing explains, and chance
            most = Math.Max(most, explained[p]);
        }

        if (most > Math.Max(LeastPattern * LeastPattern, 20 * variance / seen))
        {
            for (int p = 2; p <= Longest; p++)
            {
                if (explained[p] >= Explained * most)
                    return p;
            }
        }

        return most < NoPattern * NoPattern && Math.Sqrt(variance / seen) < SharpEnough ? 1 : 0;
    }
}
