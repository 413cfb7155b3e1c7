namespace Acquire.Service.Sensor;

/// <summary>After how many pulses what the sensor sees repeats: marks differ a little in width and place, so that they can be told from
/// each other although nobody says where a turn begins. Marks all alike cannot.</summary>
internal static class MarkPattern
{
    private const int Longest = 16;
    private const int LeastRepeats = 5;
    private const double LeastLikeness = 0.75;
    private const double AsGood = 0.85; // the shortest that is as good as the best: twice a repeat repeats as well

    // What is left of the hand: its speed cancels where widths are held against distances, not in distances alone.
    private const double LeastOfShares = 0.12;
    private const double LeastOfIntervals = 0.2;

    /// <summary>Pulses in a repeat, 2 to 16; null where nothing repeats.</summary>
    /// <param name="intervals">Times from one pulse to the next, s.</param>
    /// <param name="widths">Widths of the pulses that begin them, s; empty where the source gives none.</param>
    internal static int? Find(IReadOnlyList<double> intervals, IReadOnlyList<double> widths)
    {
        bool withWidths = widths.Count > 0;
        double[] values = [.. intervals.Select((interval, i) => withWidths ? widths[i] / interval : interval)];

        // How far each stands out from the mean of its neighbours: a speed that changes evenly cancels.
        double[] differs = new double[Math.Max(0, values.Length - 2)];
        for (int i = 0; i < differs.Length; i++)
            differs[i] = Math.Clamp(Math.Log(values[i + 1]) - ((Math.Log(values[i]) + Math.Log(values[i + 2])) / 2), -2, 2);
        if (differs.Length < 2 * LeastRepeats || Spread.Size(differs) < (withWidths ? LeastOfShares : LeastOfIntervals))
            return null;
        (int Lag, double Likeness)[] all =
            [.. Enumerable.Range(2, Longest - 1).Where(lag => LeastRepeats * lag <= differs.Length).Select(lag => (lag, Likeness(differs, lag)))];
        double best = all.Max(one => one.Likeness);
        return best < LeastLikeness ? null : all.First(one => one.Likeness >= AsGood * best).Lag;
    }

    private static double Likeness(double[] differs, int lag)
    {
        double product = 0;
        double square = 0;
        for (int i = lag; i < differs.Length; i++)
        {
            product += differs[i] * differs[i - lag];
            square += ((differs[i] * differs[i]) + (differs[i - lag] * differs[i - lag])) / 2;
        }

        return product / square;
    }
}
