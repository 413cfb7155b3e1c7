namespace Acquire.Conditioning;

/// <summary>Seeks among pulses a row that comes as the marks of a body would, where the live tracker held on to none: with one mark that
/// wobbles it loses a lock, or takes every second mark only.</summary>
/// <remarks>A row is begun with each of the first pulses and each of the few after it, and goes on while pulses come about when a parabola
/// through the last of the row says. It counts for as much as it is likelier than pulses at random that come as densely, so that neither half
/// the marks nor twice as many are taken.</remarks>
public sealed class RowSearch
{
    private const int Fewest = 12;
    private const int MostBegins = 200;   // pulses after the silence: a body that came back is seen by then
    private const int Partners = 4;
    private const int Points = 16;        // of the row, that foretell its next
    private const int ForParabola = 6;
    private const int MostMissed = 6;     // in a row
    private const double FirstGate = 0.25; // of the spacing, while few tell
    private const double Gate = 0.18;
    private const double Spread = 0.07;   // of the spacing: wobble and uneven marks
    private const double Missed = 2.5;    // −ln of the share of marks that pass unseen
    private const double LeastScore = 10;
    private const double LeastDensity = 0.3; // pulses a spacing: fewer extras tell no more
    private readonly IReadOnlyList<double> _timeS;
    private readonly List<(int At, int Step)> _row = [];
    private double _score;

    private RowSearch(IReadOnlyList<double> timeS) => _timeS = timeS;

    /// <summary>Finds the row that is likeliest.</summary>
    /// <param name="timeS">When pulses came that are no bounce, seconds, rising.</param>
    /// <param name="begins">With so many of them the row may begin; no more than the first two hundred are tried.</param>
    /// <param name="shortestS">Least spacing of marks, seconds.</param>
    /// <param name="longestS">And longest.</param>
    /// <returns>Which pulses, with their numbers in the row, counted from 0; none where no row is sure.</returns>
    public static List<(int At, int Step)> Find(IReadOnlyList<double> timeS, int begins, double shortestS, double longestS)
    {
        var search = new RowSearch(timeS);
        List<(int At, int Step)> best = [];
        double most = LeastScore;
        for (int i = 0; i < Math.Min(Math.Min(begins, MostBegins), timeS.Count); i++)
        {
            for (int k = i + 1; k <= Math.Min(i + Partners, timeS.Count - 1); k++)
            {
                double spacing = timeS[k] - timeS[i];
                if (spacing < shortestS || spacing > longestS)
                    continue;
                search.Follow(i, k, spacing);
                if (search._score <= most || search._row.Count < Fewest)
                    continue;
                (best, most) = ([.. search._row], search._score);
            }
        }

        return best;
    }

    private void Follow(int first, int second, double spacing)
    {
        _row.Clear();
        _row.Add((first, 0));
        _row.Add((second, 1));
        double density = Density(first, spacing);
        (double score, double best, int bestCount) = (0, 0, 0);
        int missed = 0;
        for (int step = 2; missed < MostMissed; step++)
        {
            (double due, spacing) = Foretell(step);
            double gate = _row.Count < ForParabola ? FirstGate : Gate;
            int at = Nearest(due, gate * spacing);
            if (spacing <= 0 || due - (gate * spacing) > _timeS[_timeS.Count - 1])
                break;
            if (at < 0)
            {
                missed++;
                score -= Missed;
                continue;
            }

            missed = 0;
            double off = (_timeS[at] - due) / (Spread * spacing);
            double chance = Math.Max(Math.Max(LeastDensity, density), Around(at, spacing));
            score += Math.Log(0.4 / Spread / chance) - (0.5 * Math.Min(off * off, 6));
            _row.Add((at, step));
            if (score > best)
                (best, bestCount) = (score, _row.Count);
        }

        _row.RemoveRange(bestCount, _row.Count - bestCount);
        _score = best;
    }

    // Pulses a spacing over the first of the row.
    private double Density(int first, double spacing)
    {
        double until = _timeS[first] + (Fewest * spacing);
        int last = first;
        while (last + 1 < _timeS.Count && _timeS[last + 1] < until)
            last++;
        return (last - first) / (double)Fewest;
    }

    // Pulses a spacing about one: among the light of a lamp some pulse comes whenever one is due.
    private double Around(int at, double spacing)
    {
        (int from, int to) = (at, at);
        while (from > 0 && _timeS[at] - _timeS[from - 1] < spacing)
            from--;
        while (to + 1 < _timeS.Count && _timeS[to + 1] - _timeS[at] < spacing)
            to++;
        return 0.5 * (to - from);
    }

    // The pulse of the row that is not yet in it and comes nearest to a moment; −1 where none comes so near.
    private int Nearest(double due, double reach)
    {
        (int best, double least) = (-1, reach);
        for (int at = _row[^1].At + 1; at < _timeS.Count && _timeS[at] < due + reach; at++)
        {
            double off = Math.Abs(_timeS[at] - due);
            if (off < least)
                (best, least) = (at, off);
        }

        return best;
    }

    // Time over number as a parabola through the last of the row, a straight line where there are few: when the next is due, and the spacing.
    private (double Due, double Spacing) Foretell(int step)
    {
        int use = Math.Min(Points, _row.Count);
        double origin = _timeS[_row[^1].At];
        (double s0, double s1, double s2, double s3, double s4) = (0, 0, 0, 0, 0);
        (double y0, double y1, double y2) = (0, 0, 0);
        for (int i = _row.Count - use; i < _row.Count; i++)
        {
            double x = _row[i].Step - step;
            double y = _timeS[_row[i].At] - origin;
            (s0, s1, s2, s3, s4) = (s0 + 1, s1 + x, s2 + (x * x), s3 + (x * x * x), s4 + (x * x * x * x));
            (y0, y1, y2) = (y0 + y, y1 + (x * y), y2 + (x * x * y));
        }

        if (use < ForParabola)
        {
            double slope = ((s0 * y1) - (s1 * y0)) / ((s0 * s2) - (s1 * s1));
            return (origin + ((y0 - (slope * s1)) / s0), slope);
        }

        double c0 = (s2 * s4) - (s3 * s3);
        double c1 = (s2 * s3) - (s1 * s4);
        double c2 = (s1 * s3) - (s2 * s2);
        double det = (s0 * c0) + (s1 * c1) + (s2 * c2);
        double due = ((y0 * c0) + (y1 * c1) + (y2 * c2)) / det;
        double between = ((y0 * c1) + (y1 * ((s0 * s4) - (s2 * s2))) + (y2 * ((s1 * s2) - (s0 * s3)))) / det;
        return (origin + due, between);
    }
}
