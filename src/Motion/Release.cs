namespace Acquire.Motion;

/// <summary>Finds when the hand let go: the moment from which on the body follows the law that it follows afterwards.</summary>
/// <remarks>Before it the body was slower than that law carried back, so that its angle runs ahead of the law's by what grows as a power
/// of the time before the release: 2 where the push ends at once, 3 or 4 where it dies away. The root of that lead is a straight line
/// whose zero is the release; how far the powers disagree is most of its uncertainty.</remarks>
internal static class Release
{
    private const double FreeS = 2;            // of free spin that the law is taken from
    private const int FreeMarks = 24;
    private const int FreeMarksUsed = 400;
    private const double MostLeadTurns = 0.25;
    private const int MostBefore = 24;

    /// <summary>The time of release and its standard uncertainty, seconds.</summary>
    public static (double TimeS, double UTimeS) Find(MarkSeries marks, int marksPerTurn)
    {
        int start = Peak(marks, marksPerTurn);
        LocalFit free = default;
        (double Turns, double TimeS) origin = default;
        for (int round = 0; round < 4; round++)
        {
            int to = Math.Max(Math.Min(marks.Count, start + FreeMarks), marks.FirstAtOrAfter(marks.TimeS[start] + FreeS));
            to = Math.Min(to, start + FreeMarksUsed);
            if (to - start < 8)
                return (marks.TimeS[start], Interval(marks, start) / Math.Sqrt(3));
            free = LocalFit.At(marks, start, to, marks.TimeS[start], 3);
            origin = (free.Angle, marks.TimeS[start]);
            int onset = Onset(marks, start, free, origin);
            if (onset == start)
                break;
            start = onset;
        }

        return ByLead(marks, start, free, origin);
    }

    // The first mark that the law, carried back, still foretells; two in a row must miss.
    private static int Onset(MarkSeries marks, int start, in LocalFit free, (double Turns, double TimeS) origin)
    {
        double tolerance = Tolerance(free);
        int at = start;
        while (at > 0)
        {
            bool misses = Lead(marks, at - 1, free, origin) > tolerance && (at < 2 || Lead(marks, at - 2, free, origin) > tolerance);
            if (misses)
                break;
            at--;
        }

        return at;
    }

    private static double Tolerance(in LocalFit free) => Math.Max(2e-4, 5 * free.ResidualRms);

    private static double Lead(MarkSeries marks, int at, in LocalFit free, (double Turns, double TimeS) origin)
    {
        double dt = marks.TimeS[at] - origin.TimeS;
        return marks.Turns[at] - origin.Turns - (dt * (free.Speed + (0.5 * dt * free.Acceleration)));
    }

    private static (double TimeS, double UTimeS) ByLead(MarkSeries marks, int onset, in LocalFit free, (double Turns, double TimeS) origin)
    {
        double interval = Interval(marks, onset);
        var leads = new List<(double TimeS, double Turns)>();
        for (int i = onset - 1; i >= 0 && leads.Count < MostBefore; i--)
        {
            double lead = Lead(marks, i, free, origin);
            if (lead > MostLeadTurns && leads.Count >= 3)
                break;
            if (lead > 0)
                leads.Add((marks.TimeS[i], lead));
        }

        if (leads.Count < 3)
            return (marks.TimeS[onset], interval / Math.Sqrt(3));
        double noise = Math.Max(free.ResidualRms, 1e-5);
        var tried = Enumerable.Range(2, 3).Select(power => Zero(leads, power, noise)).OrderBy(z => z.Misfit).ToList();
        double first = leads[0].TimeS;
        double found = Math.Clamp(tried[0].TimeS, first, marks.TimeS[onset] + (2 * interval) + 0.1);
        double apart = Math.Abs(tried[1].TimeS - tried[0].TimeS);
        return (found, Math.Max(double.Hypot(tried[0].UTimeS, 0.5 * apart), 0.1 * interval));
    }

    // Straight line through lead^(1/power), each weighed by what its noise does to the root.
    private static (double TimeS, double UTimeS, double Misfit) Zero(List<(double TimeS, double Turns)> leads, int power, double noise)
    {
        (double w, double wx, double wy, double wxx, double wxy) = (0, 0, 0, 0, 0);
        double origin = leads[0].TimeS;
        double Weight(double lead) => 1 / (Math.Pow(noise * Math.Pow(lead, (1.0 / power) - 1) / power, 2) + Math.Pow(0.01 * Math.Pow(lead, 1.0 / power), 2));
        foreach ((double timeS, double lead) in leads)
        {
            double weight = Weight(lead);
            (double x, double y) = (timeS - origin, Math.Pow(lead, 1.0 / power));
            w += weight;
            wx += weight * x;
            wy += weight * y;
            wxx += weight * x * x;
            wxy += weight * x * y;
        }

        double slope = ((w * wxy) - (wx * wy)) / ((w * wxx) - (wx * wx));
        (double xMean, double yMean) = (wx / w, wy / w);
        double misfit = leads.Sum(l => Weight(l.Turns) * Math.Pow(Math.Pow(l.Turns, 1.0 / power) - yMean - (slope * (l.TimeS - origin - xMean)), 2));
        double zero = xMean - (yMean / slope);
        double spread = Math.Pow(zero - xMean, 2) / (wxx - (w * xMean * xMean));
        double u = Math.Sqrt(Math.Max(1, misfit / Math.Max(1, leads.Count - 2)) * ((1 / w) + spread)) / Math.Abs(slope);
        return (origin + zero, u, slope < 0 ? misfit : double.PositiveInfinity);
    }

    private static double Interval(MarkSeries marks, int index)
    {
        int next = Math.Max(1, index);
        return marks.TimeS[next] - marks.TimeS[next - 1];
    }

    // The fastest stretch of whole turns: one interval alone may be a glint, or of marks unevenly spaced.
    private static int Peak(MarkSeries marks, int marksPerTurn)
    {
        int stretch = (3 + marksPerTurn - 1) / marksPerTurn * marksPerTurn;
        (int best, double most) = (0, 0);
        for (int i = stretch; i < marks.Count; i++)
        {
            double speed = (marks.Turns[i] - marks.Turns[i - stretch]) / (marks.TimeS[i] - marks.TimeS[i - stretch]);
            if (speed > most)
                (best, most) = (i, speed);
        }

        return Math.Max(0, best - 1);
    }
}
