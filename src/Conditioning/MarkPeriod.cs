namespace Acquire.Conditioning;

/// <summary>Finds after how many marks their spacing repeats: that many are on the body, whatever the set-up says.</summary>
/// <remarks>How early or late each mark comes between its neighbours is averaged over every p-th mark, for p from 1 to 8; the least p that
/// leaves nothing but chance of what any explains is the period. No hand places marks so evenly that their spacing shows no pattern: where
/// there is none to within some ten-thousandths, one mark was seen.</remarks>
internal static class MarkPeriod
{
    private const int Longest = 8;
    private const int LeastMarks = 400;
    private const int MostMarks = 60_000;
    private const double Clipped = 0.2;         // of the spacing: further off it is a glint
    private const double Usual = 0.8;           // a pattern makes more than the rest of the marks come early or late
    private const double Outlying = 5;          // times what is usual: a glint
    private const double Unexplained = 1e-4;    // of what the best period explains, a shorter one may leave
    private const double LeastPattern = 4e-4;   // of the spacing, root mean square; a period must explain more
    private const double NoPattern = 2e-4;      // less, and all are one and the same mark
    private const double SharpEnough = 1e-4;

    /// <summary>The period in marks; 0 where the marks do not tell.</summary>
    public static int Find(MarkTable table)
    {
        var sums = new double[Longest + 1, Longest];
        var counts = new int[Longest + 1, Longest];
        double squares = 0;
        int seen = 0;
        int from = Math.Max(1, (table.Marks.Count - MostMarks) / 2);
        double clip = Math.Min(Clipped, Outlying * UsualOff(table, from));
        for (int m = from; m + 1 < Math.Min(table.Marks.Count, from + MostMarks); m++)
        {
            double early = Early(table, m);
            if (!(Math.Abs(early) <= clip))
                continue;
            long number = table.Marks[m].Number;
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

    // How early a mark comes between its neighbours, as a share of the spacing; NaN where one of them was missed.
    private static double Early(MarkTable table, int m)
    {
        long number = table.Marks[m].Number;
        if (table.Marks[m + 1].Number - number != 1 || number - table.Marks[m - 1].Number != 1)
            return double.NaN;
        double both = table.At(m + 1) - table.At(m - 1);
        return (2 * (table.At(m) - table.At(m - 1)) / both) - 1;
    }

    private static double UsualOff(MarkTable table, int from)
    {
        const int Sample = 2000;
        int stride = Math.Max(1, (table.Marks.Count - from) / Sample) | 1;
        var off = new List<double>();
        for (int m = from; m + 1 < table.Marks.Count; m += stride)
        {
            double early = Math.Abs(Early(table, m));
            if (early <= Clipped)
                off.Add(early);
        }

        off.Sort();
        return off.Count == 0 ? Clipped : off[(int)(Usual * (off.Count - 1))];
    }

    private static int Choose(double[,] sums, int[,] counts, double variance, int seen)
    {
        double most = 0;
        double surely = 0;
        double chance = variance / seen;
        double[] explained = new double[Longest + 1];
        for (int p = 1; p <= Longest; p++)
        {
            for (int k = 0; k < p; k++)
                explained[p] += counts[p, k] > 0 ? sums[p, k] * sums[p, k] / counts[p, k] / seen : 0;
            if (p == 1)
                continue;
            explained[p] = Math.Max(0, explained[p] - explained[1] - ((p - 1) * chance)); // less what slowing explains, and chance
            most = Math.Max(most, explained[p]);
            surely = Math.Max(surely, explained[p] - (3 * Math.Sqrt(2 * (p - 1)) * chance));
        }

        if (most > Math.Max(LeastPattern * LeastPattern, 20 * chance))
        {
            double left = Math.Max(Unexplained * most, 20 * Math.Max(0, variance - most) / seen);
            for (int p = 2; p <= Longest; p++)
            {
                if (explained[p] >= most - left)
                    return p;
            }
        }

        return surely < NoPattern * NoPattern && Math.Sqrt(chance) < SharpEnough ? 1 : 0;
    }
}
