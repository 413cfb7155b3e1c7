namespace Acquire.Conditioning;

/// <summary>Folds the pulses that are no marks over the turn: a bright place on the body comes back at the same angle, turn after
/// turn.</summary>
internal static class BodyPlaces
{
    private const int Bins = 250;
    private const double Often = 0.5;   // in so many of the turns it comes back: it might be a mark
    private const double Wider = 1.5;

    /// <summary>Counts the places that look like marks. Where one mark is set and another place comes oftener, or is wider, that place is
    /// taken for the mark instead.</summary>
    /// <returns>True where the marks were changed.</returns>
    public static bool Study(MarkTable table)
    {
        long first = table.Marks[0].Number / table.MarksPerTurn;
        double turns = (table.Marks[^1].Number / table.MarksPerTurn) - first;
        if (turns < 20)
            return false;
        double[] folded = new double[table.TimeS.Length];
        int[] counts = Fold(table, folded);
        int best = -1;
        int places = table.MarksPerTurn;
        for (int bin = 0; bin < Bins; bin++)
        {
            int here = Around(counts, bin);
            if (here < Often * turns || here < Around(counts, bin - 1) || here <= Around(counts, bin + 1))
                continue;
            places++;
            if (best < 0 || here > Around(counts, best))
                best = bin;
        }

        int period = MarkPeriod.Find(table);
        table.MarksSeen = period != 0 && period != table.MarksPerTurn ? period : places;
        return table.MarksPerTurn == 1 && best >= 0 && TakeInstead(table, folded, (best + 0.5) / Bins);
    }

    private static int Around(int[] counts, int bin) =>
        counts[(bin + Bins - 1) % Bins] + counts[(bin + Bins) % Bins] + counts[(bin + Bins + 1) % Bins];

    // Angle within the turn of each pulse that is no mark; NaN for marks and for what lies between marks far apart.
    private static int[] Fold(MarkTable table, double[] folded)
    {
        int[] counts = new int[Bins];
        Array.Fill(folded, double.NaN);
        for (int m = 0; m + 1 < table.Marks.Count; m++)
        {
            (MarkAt left, MarkAt right) = (table.Marks[m], table.Marks[m + 1]);
            if (right.Pulse - left.Pulse == 1 || right.Number - left.Number > 3)
                continue;
            double speed = table.Speed(m, m + 1);
            for (int i = left.Pulse + 1; i < right.Pulse; i++)
            {
                double angle = table.Position(left.Number) + (speed * (table.TimeS[i] - table.TimeS[left.Pulse]));
                folded[i] = angle - Math.Floor(angle);
                counts[Math.Min(Bins - 1, (int)(folded[i] * Bins))]++;
            }
        }

        return counts;
    }

    private static bool TakeInstead(MarkTable table, double[] folded, double place)
    {
        var other = new List<MarkAt>();
        int m = 0;
        for (int i = 0; i < folded.Length; i++)
        {
            while (m + 1 < table.Marks.Count && table.Marks[m + 1].Pulse <= i)
                m++;
            if (double.IsNaN(folded[i]) || Math.Abs(folded[i] - place) > 1.5 / Bins)
                continue;
            double angle = table.Marks[m].Number + (table.Speed(m, m + 1) * (table.TimeS[i] - table.At(m)));
            long number = (long)Math.Round(angle - place);
            if (other.Count == 0 || other[^1].Number < number)
                other.Add(new MarkAt(i, number));
        }

        List<MarkAt> before = table.Marks;
        double width = table.WidthTurns;
        table.Marks = other;
        table.LearnWidth();
        bool better = double.IsNaN(width) || double.IsNaN(table.WidthTurns)
            ? other.Count > 1.01 * before.Count
            : table.WidthTurns > Wider * width || (table.WidthTurns > width / Wider && other.Count > 1.01 * before.Count);
        if (better)
            return true;
        table.Marks = before;
        table.LearnWidth();
        return false;
    }
}
