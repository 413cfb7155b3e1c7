namespace Acquire.Conditioning;

/// <summary>Follows the marks of a body that wobbles so much that no smooth course foretells them, and takes the wobble out of the times
/// of the table: what else judges the run then sees a body that turns smoothly.</summary>
/// <remarks>The time of each pulse is shifted to when the place would have passed without the wobble: by the wobble over the speed.</remarks>
internal sealed class WobbleTrack
{
    private const int Block = 32;
    private const double Large = 0.002;     // of the spacing: residuals of a cubic this size tell of a wobble, or of misjudged marks
    private const double Larger = 2;        // than where they are least: jitter is the same all the while
    private const double LeadInS = 40;
    private const double WidestGate = 0.3;  // of the spacing
    private const double SurelyNear = 0.03; // of the spacing
    private const double SoundStart = 0.1;  // of the spacing
    private const int GapMarks = 8;         // so many marks unseen are a gap that the stretches bridge
    private const double BounceShare = 0.5; // a later pulse must be nearer by so much
    private const double SpeedKnown = 0.03; // share to which the speed must be foretold after a gap for the marks to be followed at once
    private readonly MarkTable _table;
    private readonly WobbleFilter _filter;
    private readonly List<MarkAt> _found = [];
    private readonly double[] _shiftS;
    private double _scale = 1e-3;           // of the residuals, turns

    private WobbleTrack(MarkTable table, double constantPerS2)
    {
        _table = table;
        _filter = new WobbleFilter(constantPerS2);
        _shiftS = new double[table.TimeS.Length];
    }

    /// <summary>Takes a large wobble out of the times and judges the marks from where it begins on anew.</summary>
    /// <param name="table">The run.</param>
    /// <param name="released">A mark after which the body spins freely.</param>
    /// <returns>True where the table was changed.</returns>
    public static bool TakeOut(MarkTable table, int released)
    {
        int large = FirstLarge(table, released);
        if (large < 0)
            return false;
        double constant = WobbleLaw.Find(table, released);
        if (double.IsNaN(constant))
            return false;
        int from = released;
        while (from < large && table.At(from) < table.At(large) - LeadInS)
            from++;
        int inStep = (2 * table.MarksPerTurn) + 8;
        while (from + inStep + 2 < table.Marks.Count && !AreSound(table, from, inStep))
            from++;
        if (from + (2 * inStep) >= table.Marks.Count)
            return false;
        var track = new WobbleTrack(table, constant);
        return track.Follow(from) && track.Adopt(from);
    }

    // The first mark of those that cubics foretell badly for so many marks and by more than jitter alone would explain.
    private static int FirstLarge(MarkTable table, int from)
    {
        double[] off = new double[Block];
        double usual = double.PositiveInfinity;
        var blocks = new List<(int Mark, double Share, double Seconds)>();
        int last = table.Marks.Count - Block - 3;
        for (int m = Math.Max(2, from); m <= last; m = m < last ? Math.Min(last, m + Block) : last + 1)
        {
            for (int i = 0; i < Block; i++)
                off[i] = Math.Abs(Recount.Off(table, m + i));
            Array.Sort(off);
            double share = off[Block / 2];
            double seconds = share / (table.Speed(m, m + Block) * table.MarksPerTurn);
            usual = Math.Min(usual, seconds);
            blocks.Add((m, share, seconds));
        }

        int first = blocks.FindIndex(b => b.Share > Large && b.Seconds > Larger * usual);
        return first < 0 ? -1 : blocks[first].Mark;
    }

    private static bool AreSound(MarkTable table, int from, int count)
    {
        for (int m = Math.Max(2, from); m < from + count; m++)
        {
            if (Math.Abs(Recount.Off(table, m)) > SoundStart || table.Marks[m].Number - table.Marks[m - 1].Number > 2)
                return false;
        }

        return true;
    }

    private bool Follow(int from)
    {
        List<MarkAt> marks = _table.Marks;
        int inStep = (2 * _table.MarksPerTurn) + 4; // so many are taken as the table has them
        double speed = _table.Speed(from, from + inStep);
        _filter.Begin(_table.Position(marks[from].Number), speed, 0);
        _found.Add(marks[from]);
        int next = from + 1; // the next mark as the stretches have it
        int until = inStep;  // as the table has them, until so many are found
        long shift = 0;
        double at = _table.At(from);
        for (int i = marks[from].Pulse + 1; i < _table.TimeS.Length; i++)
        {
            while (next < marks.Count && marks[next].Pulse < i)
                next++;
            double dt = _table.TimeS[i] - at;
            double unseen = (_table.TimeS[i] - _table.TimeS[_found[^1].Pulse]) * _filter.Speed * _table.MarksPerTurn;
            if (unseen > GapMarks)
            {
                // The stretches tell how many turns a gap holds.
                if (next >= marks.Count)
                    break;
                if (marks[next].Pulse != i)
                    continue;
                long steps = Math.Max(1, marks[next].Number - marks[next - 1].Number);
                at = _table.TimeS[i];
                _filter.Predict(dt);
                shift = _found[^1].Number + steps - marks[next].Number;
                until = Resume(next, shift, inStep) ? _found.Count + inStep : until;
                continue;
            }

            _filter.Predict(dt);
            at = _table.TimeS[i];
            if (_found.Count > until)
                Take(i);
            else if (next < marks.Count && marks[next].Pulse == i)
                Accept(i, marks[next].Number + shift, _table.Position(marks[next].Number + shift) - _filter.Seen);
            if (!(_filter.Speed > 0.05))
                return false;
            _shiftS[i] = _filter.Wobble / _filter.Speed;
        }

        for (int i = _found[^1].Pulse + 1; i < _shiftS.Length; i++)
            _shiftS[i] = _shiftS[_found[^1].Pulse];
        return true;
    }

    // True where the speed was not foretold well enough to go on with, and was taken from the marks after the gap.
    private bool Resume(int next, long shift, int over)
    {
        MarkAt mark = _table.Marks[next];
        _filter.Resume(_table.Position(mark.Number + shift));
        _found.Add(mark with { Number = mark.Number + shift });
        int last = Math.Min(next + over, _table.Marks.Count - 1);
        if (last < next + 3)
            return false;
        double speed = _table.Speed(next, last);
        if (Math.Abs((_filter.Speed / speed) - 1) < SpeedKnown)
            return false;
        _filter.Restate(speed);
        return true;
    }

    private void Take(int pulse)
    {
        (long number, double off) = Nearest(_filter.Seen);
        double spacing = 1.0 / _table.MarksPerTurn;
        double sigma = Math.Sqrt(_filter.Variance + (_scale * _scale));
        double gate = Math.Min(WidestGate * spacing, Math.Max(5 * sigma, SurelyNear * spacing));
        if (Math.Abs(off) > gate || number <= _found[^1].Number || HasBetter(pulse, off))
            return;
        Accept(pulse, number, off);
    }

    private void Accept(int pulse, long number, double off)
    {
        _filter.Update(off, _scale * _scale);
        _scale += ((1.25 * Math.Min(Math.Abs(off), 4 * _scale)) - _scale) / 60;
        _scale = Math.Max(_scale, 2e-5);
        _found.Add(new MarkAt(pulse, number));
    }

    private (long Number, double Off) Nearest(double angle)
    {
        long guess = (long)Math.Round(angle * _table.MarksPerTurn);
        (long best, double off) = (guess, double.PositiveInfinity);
        for (long number = guess - 1; number <= guess + 1; number++)
        {
            double here = _table.Position(number) - angle;
            if (Math.Abs(here) < Math.Abs(off))
                (best, off) = (number, here);
        }

        return (best, off);
    }

    // Whether one of the next pulses is surely nearer to the same mark.
    private bool HasBetter(int pulse, double off)
    {
        double speed = Math.Max(_filter.SeenSpeed, 0.2 * _filter.Speed);
        for (int i = pulse + 1; i < _table.TimeS.Length; i++)
        {
            double later = off - (speed * (_table.TimeS[i] - _table.TimeS[pulse]));
            if (later < -Math.Abs(off))
                return false;
            if (Math.Abs(later) < Math.Abs(off) - (2 * _scale) && Math.Abs(later) < BounceShare * Math.Abs(off))
                return true;
        }

        return false;
    }

    private bool Adopt(int from)
    {
        List<MarkAt> marks = _table.Marks;
        if (_found.Count < 0.9 * (marks.Count - from))
            return false;
        _table.Marks = [.. marks.Take(from), .. _found];
        _table.Shift(_shiftS);
        return true;
    }
}
