namespace Acquire.Motion;

/// <summary>Finds when the hand let go: the moment from which on the body follows the law that it follows afterwards.</summary>
internal static class Release
{
    private const int FreeMarks = 24;

    /// <summary>The time of release and its standard uncertainty, seconds.</summary>
    public static (double TimeS, double UTimeS) Find(MarkSeries marks)
    {
        int peak = Peak(marks);
        int to = Math.Min(marks.Count, peak + FreeMarks);
        if (to - peak < 6)
            return At(marks, peak);
        LocalFit free = LocalFit.At(marks, peak, to, marks.TimeS[peak], 3);

        // Backwards from the peak while each interval is what the free law says.
        double tolerance = Math.Max(0.0003, 6 * free.ResidualRms);
        int at = peak;
        while (at > 0)
        {
            double mid = 0.5 * (marks.TimeS[at] + marks.TimeS[at - 1]) - marks.TimeS[peak];
            double foretold = free.Speed + (free.Acceleration * mid);
            double seen = Speed(marks, at);
            if (Math.Abs(seen - foretold) > tolerance * foretold)
                break;
            at--;
        }

        return At(marks, at);
    }

    // The release lies within the interval before the mark that is found.
    private static (double TimeS, double UTimeS) At(MarkSeries marks, int index)
    {
        int next = Math.Max(1, index);
        double interval = marks.TimeS[next] - marks.TimeS[next - 1];
        return (marks.TimeS[index], interval / Math.Sqrt(3));
    }

    // The end of the fastest stretch of three intervals: one alone may be a glint.
    private static int Peak(MarkSeries marks)
    {
        (int best, double most) = (0, 0);
        for (int i = 3; i < marks.Count; i++)
        {
            double speed = (marks.Turns[i] - marks.Turns[i - 3]) / (marks.TimeS[i] - marks.TimeS[i - 3]);
            if (speed > most)
                (best, most) = (i, speed);
        }

        return Math.Max(0, best - 1);
    }

    private static double Speed(MarkSeries marks, int at) =>
        (marks.Turns[at] - marks.Turns[at - 1]) / (marks.TimeS[at] - marks.TimeS[at - 1]);
}
