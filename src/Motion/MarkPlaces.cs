namespace Acquire.Motion;

/// <summary>Settles where several marks sit on the body by what a smooth decay leaves of each on average: the whole run says it better
/// than the track that learnt it on the way.</summary>
internal static class MarkPlaces
{
    private const double Same = 1e-7; // turns; marks of one place differ by rounding alone
    private const int MostPlaces = 8;

    /// <summary>The marks with each place shifted by the mean of what was left of it; null where there is one place only, or marks do not
    /// come in places (as when they are grouped).</summary>
    /// <param name="marks">The marks.</param>
    /// <param name="left">Seen less smooth angle of each, turns.</param>
    /// <param name="speeds">Rough speed at each.</param>
    public static MarkSeries? Settled(MarkSeries marks, double[] left, double[] speeds)
    {
        double[] places = new double[MostPlaces];
        double[] sums = new double[MostPlaces];
        double[] weights = new double[MostPlaces];
        int[] which = new int[marks.Count];
        int known = 0;
        for (int i = 0; i < marks.Count; i++)
        {
            double place = marks.Turns[i] - Math.Floor(marks.Turns[i]);
            int at = 0;
            while (at < known && Math.Abs(Math.IEEERemainder(place - places[at], 1)) > Same)
                at++;
            if (at == MostPlaces)
                return null;
            if (at == known)
                places[known++] = place;
            double weight = 1 / (speeds[i] * speeds[i]);
            which[i] = at;
            sums[at] += weight * left[i];
            weights[at] += weight;
        }

        if (known < 2)
            return null;
        double[] turns = new double[marks.Count];
        for (int i = 0; i < turns.Length; i++)
            turns[i] = marks.Turns[i] - (sums[which[i]] / weights[which[i]]);
        return new MarkSeries(marks.TimeS, turns);
    }
}
