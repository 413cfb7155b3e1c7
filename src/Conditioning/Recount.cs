namespace Acquire.Conditioning;

/// <summary>Counts anew where the live tracker went astray for some marks and came back: the marks on both sides fit each other, those
/// between fit neither side.</summary>
/// <remarks>A mark is sound where it comes when the cubic of time over angle through two marks on each side says. Between the sound
/// ones on both sides the body turned by the logarithmic mean of their speeds times the time: over some marks that is sure to a small
/// part of the spacing.</remarks>
internal static class Recount
{
    private const double Sound = 0.12;     // of the spacing
    private const int Apart = 4;           // fewer sound marks than this between unsound ones are not trusted
    private const int LeastSide = 4;       // over more marks a launch or a fall nearby would spoil the speeds
    private const int Longest = 48;        // marks: what went astray for longer is no slip
    private const double Alike = 0.03;     // how much the speeds on both sides may differ, as a share
    private const double Whole = 0.3;      // of the spacing: how near to a mark the turned angle must come

    /// <summary>Takes the marks that fit neither side out and renumbers those after them where the count was wrong.</summary>
    public static void Check(MarkTable table)
    {
        List<MarkAt> marks = table.Marks;
        var kept = new List<MarkAt>(marks.Count);
        long shift = 0;
        int copied = 0;
        for (int m = 2; m + 2 < marks.Count; m++)
        {
            if (IsSound(table, m))
                continue;
            int last = LastUnsound(table, m);
            if (TryCount(table, m - 1, last + 1, out long steps))
            {
                Copy(marks, copied, m, shift, kept);
                shift += steps - (marks[last + 1].Number - marks[m - 1].Number);
                copied = last + 1;
            }

            m = last;
        }

        if (copied == 0)
            return;
        Copy(marks, copied, marks.Count, shift, kept);
        table.Marks = kept;
    }

    private static void Copy(List<MarkAt> marks, int from, int to, long shift, List<MarkAt> kept)
    {
        for (int i = from; i < to; i++)
            kept.Add(marks[i] with { Number = marks[i].Number + shift });
    }

    private static int LastUnsound(MarkTable table, int first)
    {
        int last = first;
        for (int m = first + 1; m <= last + Apart && m + 2 < table.Marks.Count; m++)
        {
            if (!IsSound(table, m))
                last = m;
        }

        return last;
    }

    private static bool IsSound(MarkTable table, int m) => Math.Abs(Off(table, m)) < Sound;

    /// <summary>How late a mark comes against the cubic through two marks on each side, as a share of the spacing; 0 beside a gap.</summary>
    public static double Off(MarkTable table, int m)
    {
        const int Widest = 12;
        List<MarkAt> marks = table.Marks;
        if (marks[m + 2].Number - marks[m - 2].Number > Widest)
            return 0;
        double x = table.Position(marks[m].Number);
        Span<double> angle = [Angle(m - 2), Angle(m - 1), Angle(m + 1), Angle(m + 2)];
        Span<double> time = [table.At(m - 2), table.At(m - 1), table.At(m + 1), table.At(m + 2)];
        double foretold = 0;
        for (int i = 0; i < 4; i++)
        {
            double weight = 1;
            for (int k = 0; k < 4; k++)
                weight *= k == i ? 1 : angle[k] / (angle[k] - angle[i]);
            foretold += weight * (time[i] - time[0]);
        }

        double off = table.At(m) - time[0] - foretold;
        return off * table.Speed(m - 1, m + 1) * table.MarksPerTurn;

        double Angle(int at) => table.Position(marks[at].Number) - x;
    }

    // How many marks it is from one sound mark to another, told by the speeds before the one and after the other.
    private static bool TryCount(MarkTable table, int before, int after, out long steps)
    {
        List<MarkAt> marks = table.Marks;
        long told = marks[after].Number - marks[before].Number;
        steps = told;
        int side = Math.Max(LeastSide, table.MarksPerTurn);
        int from = Math.Max(0, before - side);
        int to = Math.Min(marks.Count - 1, after + side);
        if (before - from < LeastSide || to - after < LeastSide)
            return false;
        double v1 = table.Speed(from, before);
        double v2 = table.Speed(after, to);
        double dt = table.At(after) - table.At(before);
        if (Math.Abs((v1 / v2) - 1) > Alike || dt * v1 * table.MarksPerTurn > Longest)
            return false;
        double turns = Coasting.TurnsBetween(v1, v2, dt);
        double angle = table.Position(marks[before].Number) + turns;
        long guess = marks[before].Number + (long)Math.Round(turns * table.MarksPerTurn);
        double off = (table.Position(guess) - angle) * table.MarksPerTurn;
        steps = guess - marks[before].Number;
        return steps > 0 && steps != told && Math.Abs(off) < Whole;
    }
}
