namespace Acquire.Results.Losses;

/// <summary>The marks of a free spin averaged in blocks: what a reference curve leaves of their angle. Jitter that has nothing to do from mark to
/// mark loses next to nothing by it, since within a block the course of the spin hardly bends.</summary>
internal sealed class MarkBlocks
{
    private const int MostBlocks = 4000;
    private const int LeastForTrim = 8;
    private const double Far = 5;              // standard deviations: beyond, a block is looked at for strays
    private const double GapS = 1;
    private const double GapTurns = 4;
    private readonly SpinMarks _marks;
    private readonly List<(int From, int To, int Segment)> _spans = [];
    private readonly double _originTurns;
    private int _strays;

    private MarkBlocks(SpinMarks marks)
    {
        _marks = marks;
        Cut();
        _originTurns = marks.Turns[_spans[0].From];
    }

    /// <summary>How many.</summary>
    public int Count => _spans.Count;

    /// <summary>Marks that were left out because they lie far from those about them.</summary>
    public int Strays => _strays;

    /// <summary>Which unbroken stretch each block belongs to: after a gap the count of turns may be off.</summary>
    public int[] Segments => [.. _spans.Select(s => s.Segment)];

    /// <summary>Cuts the marks into blocks.</summary>
    public static MarkBlocks Of(SpinMarks marks) => new(marks);

    /// <summary>The first mark of each block: time and angle, rad.</summary>
    public (double[] TimeS, double[] AngleRad) Firsts() =>
        ([.. _spans.Select(s => _marks.TimeS[s.From])], [.. _spans.Select(s => Angle(s.From))]);

    /// <summary>Mean time of each block and mean of what the curve leaves, rad; learnt on the way how far each mark sits from where it was
    /// said to.</summary>
    public (double[] TimeS, double[] Left) Against(LawCurve curve)
    {
        double[] time = new double[Count];
        double[] left = new double[Count];
        int kinds = _marks.Kinds;
        int longest = _spans.Max(s => s.To - s.From);
        double[][] sums = new double[Count][];
        int[][] counts = new int[Count][];
        _strays = 0;
        Parallel.For(0, Count, () => (Time: new double[longest], Left: new double[longest]), (b, _, buffer) =>
        {
            (int from, int to) = (_spans[b].From, _spans[b].To);
            int n = 0;
            for (int i = from; i < to; i++)
            {
                if (!_marks.Has(i))
                    continue;
                buffer.Time[n] = _marks.TimeS[i];
                buffer.Left[n++] = Angle(i) - curve.Angle(_marks.TimeS[i]);
            }

            (double low, double high) = Bounds(buffer.Left.AsSpan(0, n));
            (sums[b], counts[b]) = (new double[kinds], new int[kinds]);
            (double t, int kept, n) = (0, 0, 0);
            for (int i = from; i < to; i++)
            {
                if (!_marks.Has(i))
                    continue;
                double rest = buffer.Left[n];
                if (rest >= low && rest <= high)
                {
                    sums[b][_marks.Mark[i]] += rest;
                    counts[b][_marks.Mark[i]]++;
                    t += buffer.Time[n] - buffer.Time[0];
                    kept++;
                }

                n++;
            }

            Interlocked.Add(ref _strays, n - kept);
            time[b] = buffer.Time[0] + (t / kept);
            return buffer;
        }, _ => { });
        double[] offsets = Offsets(sums, counts);
        for (int b = 0; b < Count; b++)
            left[b] = Enumerable.Range(0, kinds).Sum(m => sums[b][m] - (counts[b][m] * offsets[m])) / counts[b].Sum();
        return (time, left);
    }

    /// <summary>A precession as the blocks see it: a block may be as long as a turn of it, and lack marks.</summary>
    /// <param name="timeS">Mean time of each block.</param>
    /// <param name="curve">The spin.</param>
    /// <param name="constantPerS2">Precessions a second times turns a second.</param>
    public WobbleOut.Wave Waves(double[] timeS, LawCurve curve, double constantPerS2)
    {
        const double Near = 0.5;
        double[] phase = WobbleOut.Phases(timeS, curve, constantPerS2);
        double[] cos = new double[Count];
        double[] sin = new double[Count];
        Parallel.For(0, Count, b =>
        {
            double rate = WobbleOut.PerS(timeS[b], curve, constantPerS2);
            double bend = (WobbleOut.PerS(timeS[b] + Near, curve, constantPerS2) - WobbleOut.PerS(timeS[b] - Near, curve, constantPerS2)) / (4 * Near);
            int n = 0;
            for (int i = _spans[b].From; i < _spans[b].To; i++)
            {
                if (!_marks.Has(i))
                    continue;
                double apart = _marks.TimeS[i] - timeS[b];
                (double s, double c) = Math.SinCos(phase[b] + (apart * (rate + (apart * bend))));
                (sin[b], cos[b], n) = (sin[b] + s, cos[b] + c, n + 1);
            }

            (sin[b], cos[b]) = (sin[b] / n, cos[b] / n);
        });
        return new WobbleOut.Wave(phase, cos, sin);
    }

    private double Angle(int i) => 2 * Math.PI * (_marks.Turns[i] - _originTurns);

    private void Cut()
    {
        int size = Math.Max(1, (_marks.Count + MostBlocks - 1) / MostBlocks);
        (int begin, int held, int last, int segment) = (-1, 0, -1, 0);
        for (int i = _marks.From; i < _marks.To; i++)
        {
            if (!_marks.Has(i))
                continue;
            bool gap = last >= 0 && _marks.TimeS[i] - _marks.TimeS[last] > GapS && _marks.Turns[i] - _marks.Turns[last] > GapTurns;
            if (begin >= 0 && (gap || held == size))
            {
                _spans.Add((begin, last + 1, segment));
                (begin, held) = (-1, 0);
            }

            segment += gap ? 1 : 0;
            begin = begin < 0 ? i : begin;
            held++;
            last = i;
        }

        if (begin >= 0)
            _spans.Add((begin, last + 1, segment));
    }

    // Where all are near their mean none is a stray; else all within so many scaled median deviations of the median are kept.
    private static (double Low, double High) Bounds(Span<double> left)
    {
        (double all, double squares) = (0, 0);
        foreach (double x in left)
            all += x;
        double mean = all / left.Length;
        double most = 0;
        foreach (double x in left)
        {
            squares += (x - mean) * (x - mean);
            most = Math.Max(most, Math.Abs(x - mean));
        }

        if (left.Length < LeastForTrim || most <= Far * Math.Sqrt(squares / left.Length))
            return (double.NegativeInfinity, double.PositiveInfinity);
        double[] sorted = left.ToArray();
        Array.Sort(sorted);
        double median = sorted[sorted.Length / 2];
        for (int i = 0; i < sorted.Length; i++)
            sorted[i] = Math.Abs(sorted[i] - median);
        Array.Sort(sorted);
        double reach = Far * 1.4826 * sorted[sorted.Length / 2];
        return (median - reach, median + reach);
    }

    private static double[] Offsets(double[][] sums, int[][] counts)
    {
        int kinds = sums[0].Length;
        double[] offsets = new double[kinds];
        if (kinds == 1)
            return offsets;
        for (int m = 0; m < kinds; m++)
        {
            (double sum, double weight) = (0, 0);
            for (int b = 0; b < sums.Length; b++)
            {
                if (counts[b][m] == 0)
                    continue;
                sum += sums[b][m] - (counts[b][m] * sums[b].Sum() / counts[b].Sum());
                weight += counts[b][m];
            }

            offsets[m] = weight > 0 ? sum / weight : 0;
        }

        return offsets;
    }
}
