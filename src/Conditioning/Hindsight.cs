namespace Acquire.Conditioning;

/// <summary>Looks at each mark again with those on both sides of it known: a glint that was taken for a mark gives way to the mark, and a
/// mark that was taken for an extra is found.</summary>
/// <remarks>Where a mark should have come follows from two marks on each side by Lagrange's cubic through time as a function of
/// angle.</remarks>
internal sealed class Hindsight
{
    private const double Clear = 2.5;       // residuals, in their usual size: a mark this good is not looked at again
    private const double Odd = 5;           // one this bad always is
    private const double NearTo = 0.12;     // of the spacing: an extra so near to where a mark belongs may be it
    private const double SurelyNear = 0.015;
    private const double FarAway = 6;
    private const double Bounced = 3;
    private const int LeastPairs = 12;
    private readonly MarkTable _table;
    private readonly List<MarkAt> _marks;
    private readonly bool[] _doubted;
    private readonly bool[] _glintAhead; // by mark of the turn
    private readonly List<MarkAt> _settled;
    private double _scale;

    private Hindsight(MarkTable table)
    {
        _table = table;
        _marks = table.Marks;
        _doubted = new bool[_marks.Count];
        _glintAhead = new bool[table.MarksPerTurn];
        _settled = new List<MarkAt>(_marks.Count + 64);
    }

    /// <summary>Looks at all marks of a table again.</summary>
    /// <returns>The usual size of the residuals, seconds, in all and about the end: about the jitter of a mark's moment.</returns>
    public static (double All, double AtEnd) Reconsider(MarkTable table)
    {
        if (table.Marks.Count < 8)
            return (1e-4, 1e-4);
        var hindsight = new Hindsight(table);
        double[] scales = hindsight.Doubt();
        hindsight.Settle(scales);
        table.Marks = hindsight._settled;
        double sum = 0;
        foreach (double scale in scales)
            sum += scale;
        return (sum / scales.Length, scales[^1]);
    }

    // The usual size of the residuals at each mark; marks too far off are doubted.
    private double[] Doubt()
    {
        double[] scales = new double[_marks.Count];
        _scale = FirstScale();
        FindGlintsAhead();
        for (int m = 0; m < _marks.Count; m++)
        {
            double off = Math.Abs(Residual(m));
            if (off > Odd * _scale || (_glintAhead[_table.Place(_marks[m].Number)] && IsPair(m, out _, out _)))
                _doubted[m] = true;
            else if (off > Clear * _scale)
                _doubted[m] = HasRival(m);
            _scale += (Math.Min(off, 4 * _scale) - _scale) / 40;
            scales[m] = Math.Max(_scale, 5e-7);
        }

        return scales;
    }

    private double FirstScale()
    {
        double[] first = new double[Math.Min(_marks.Count - 4, 400)];
        for (int i = 0; i < first.Length; i++)
            first[i] = Math.Abs(Residual(i + 2));
        Array.Sort(first);
        return Math.Max(first[first.Length / 2], 1e-6);
    }

    // A glint that flashes just ahead of a mark looks like a mark with its bounce, but that the second of the two comes when the mark should.
    private void FindGlintsAhead()
    {
        var pairs = new List<(double First, double Second)>[_glintAhead.Length];
        for (int place = 0; place < pairs.Length; place++)
            pairs[place] = [];
        for (int m = 2; m + 2 < _marks.Count; m++)
        {
            if (!IsPair(m, out double before, out double after))
                continue;
            double off = Residual(m);
            pairs[_table.Place(_marks[m].Number)].Add((off - before, off + after));
        }

        for (int place = 0; place < pairs.Length; place++)
        {
            if (pairs[place].Count < LeastPairs)
                continue;
            double early = Median(pairs[place].Select(p => p.First));
            _glintAhead[place] = early < -_scale && Math.Abs(Median(pairs[place].Select(p => p.Second))) < -0.7 * early;
        }
    }

    private static double Median(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return sorted[sorted.Length / 2];
    }

    // Whether a mark is one of two pulses close together: how long before it the first came, how long after it the second.
    private bool IsPair(int m, out double beforeS, out double afterS)
    {
        (beforeS, afterS) = (0, 0);
        int pulse = _marks[m].Pulse;
        if (pulse + 1 < _table.TimeS.Length && _table.Follows(pulse + 1) && (m + 1 == _marks.Count || _marks[m + 1].Pulse > pulse + 1))
            afterS = _table.TimeS[pulse + 1] - _table.TimeS[pulse];
        else if (_table.Follows(pulse) && (m == 0 || _marks[m - 1].Pulse < pulse - 1))
            beforeS = _table.TimeS[pulse] - _table.TimeS[pulse - 1];
        return beforeS + afterS > 0;
    }

    private bool HasRival(int m) =>
        (m > 0 && _marks[m].Pulse - _marks[m - 1].Pulse > 1) || (m + 1 < _marks.Count && _marks[m + 1].Pulse - _marks[m].Pulse > 1);

    private double Residual(int m)
    {
        if (m < 2 || m + 2 >= _marks.Count)
            return 0;
        return _table.At(m) - Foretell(_marks[m].Number, m - 2, m - 1, m + 1, m + 2, out _);
    }

    // When a mark should come, by four others; gain is by how much their jitter grows.
    private double Foretell(long number, int a, int b, int c, int d, out double gain)
    {
        long na = _marks[a].Number;
        double origin = _table.At(b);
        if (_table.MarksPerTurn == 1 && _marks[d].Number - na == 4 && number - na == 2 && b == a + 1)
        {
            gain = 17.0 / 18;
            return origin + ((-(_table.At(a) - origin) + (4 * (_table.At(c) - origin)) - (_table.At(d) - origin)) / 6);
        }

        double x = _table.Position(number);
        double xa = _table.Position(na) - x;
        double xb = _table.Position(_marks[b].Number) - x;
        double xc = _table.Position(_marks[c].Number) - x;
        double xd = _table.Position(_marks[d].Number) - x;
        double wa = xb * xc * xd / ((xb - xa) * (xc - xa) * (xd - xa));
        double wb = xa * xc * xd / ((xa - xb) * (xc - xb) * (xd - xb));
        double wc = xa * xb * xd / ((xa - xc) * (xb - xc) * (xd - xc));
        double wd = xa * xb * xc / ((xa - xd) * (xb - xd) * (xc - xd));
        gain = (wa * wa) + (wb * wb) + (wc * wc) + (wd * wd);
        return origin + (wa * (_table.At(a) - origin)) + (wc * (_table.At(c) - origin)) + (wd * (_table.At(d) - origin));
    }

    private void Settle(double[] scales)
    {
        for (int m = 0; m < _marks.Count; m++)
        {
            if (!_doubted[m])
                _settled.Add(_marks[m]);
            else
                SettleOne(m, scales[m]);
            if (m + 1 < _marks.Count && _marks[m + 1].Pulse - _marks[m].Pulse > 1 && _marks[m + 1].Number - _marks[m].Number > 1)
                SettleGap(m, scales[m]);
        }
    }

    private void SettleOne(int m, double scale)
    {
        if (!TryNeighbours(m - 1, m + 1, out int a, out int b, out int c, out int d))
        {
            _settled.Add(_marks[m]);
            return;
        }

        int from = m > 0 ? _marks[m - 1].Pulse + 1 : _marks[m].Pulse;
        int to = m + 1 < _marks.Count ? _marks[m + 1].Pulse : _marks[m].Pulse + 1;
        AddBest(_marks[m].Number, from, to, scale, a, b, c, d);
    }

    // Marks that were missed, with pulses about: one of them may be a mark after all.
    private void SettleGap(int m, double scale)
    {
        const int LongestGap = 24;
        long first = _marks[m].Number + 1;
        long last = _marks[m + 1].Number - 1;
        if (last - first > LongestGap || !TryNeighbours(m, m + 1, out int a, out int b, out int c, out int d))
            return;
        int from = _marks[m].Pulse + 1;
        for (long number = first; number <= last; number++)
        {
            if (_settled.Count > 0 && _settled[^1].Pulse >= from)
                from = _settled[^1].Pulse + 1;
            AddBest(number, from, _marks[m + 1].Pulse, scale, a, b, c, d);
        }
    }

    // The two nearest marks on each side that are not in doubt.
    private bool TryNeighbours(int before, int after, out int a, out int b, out int c, out int d)
    {
        const int Furthest = 40;
        b = Walk(before, -1);
        a = b < 0 ? -1 : Walk(b - 1, -1);
        c = Walk(after, 1);
        d = c < 0 ? -1 : Walk(c + 1, 1);
        return a >= 0 && d >= 0 && _marks[d].Number - _marks[a].Number < Furthest;
    }

    private int Walk(int at, int step)
    {
        for (int i = 0; i < 12 && at >= 0 && at < _marks.Count; i++, at += step)
        {
            if (!_doubted[at])
                return at;
        }

        return -1;
    }

    private void AddBest(long number, int from, int to, double scale, int a, int b, int c, int d)
    {
        double when = Foretell(number, a, b, c, d, out double gain);
        double speed = _table.Speed(b, c);
        double spacingS = 1 / (speed * _table.MarksPerTurn);
        double sigma = 1.25 * scale * Math.Sqrt((1 + gain) / 1.95); // mean size to standard deviation of a normal residual
        double gate = Math.Min(NearTo * spacingS, Math.Max(FarAway * sigma, SurelyNear * spacingS));
        double bounced = _glintAhead[_table.Place(number)] ? 0 : Bounced;
        int best = -1;
        double least = double.PositiveInfinity;
        for (int i = from; i < to; i++)
        {
            double off = _table.TimeS[i] - when;
            if (Math.Abs(off) > gate)
                continue;
            double byWidth = _table.WidthOff(i, speed) / 0.15;
            double cost = (0.5 * off * off / (sigma * sigma)) + (_table.Follows(i) ? bounced : 0) + Math.Min(6, 0.5 * byWidth * byWidth);
            if (cost < least)
                (best, least) = (i, cost);
        }

        if (best >= 0 && (_settled.Count == 0 || best > _settled[^1].Pulse))
            _settled.Add(new MarkAt(best, number));
    }
}
