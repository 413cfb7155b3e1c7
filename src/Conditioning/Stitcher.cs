namespace Acquire.Conditioning;

/// <summary>Joins the stretches in which the live tracker followed the marks into one run. A stretch belongs to it where a body that
/// slows of itself could have gone from the one to the other; what lies between must be told again from the raw pulses.</summary>
/// <remarks>The turns across a gap are its time multiplied by the logarithmic mean of the speeds on both sides, which is exact where the
/// body slows in proportion to its speed.</remarks>
internal sealed class Stitcher
{
    private const int LeastMarks = 12;
    private const int FewMarks = 5;
    private const int Broken = 6;       // a step of more than so many marks ends a stretch
    private const int MostSideMarks = 96; // the speed at an end is taken over at most so many, and two dozen turns
    private const double ShortTurns = 6;
    private const double QuickerThanUsual = 4;
    private const double Faster = 1.02;
    private const int Parts = 32;
    private readonly MarkTable _table;
    private readonly List<Stretch> _stretches = [];
    private readonly HashSet<int> _unplaced = []; // stretches of which no pattern tells which mark is which
    private readonly int _sideMarks;

    private Stitcher(MarkTable table)
    {
        _table = table;
        _sideMarks = Math.Min(MostSideMarks, 24 * table.MarksPerTurn);
    }

    /// <summary>Replaces the marks of the table, those of all locks as they came, by those of one run.</summary>
    /// <param name="table">Numbers need only be right within one stretch.</param>
    /// <param name="isNewLock">Whether a new lock began with a mark, by its index.</param>
    /// <returns>The gaps between the stretches: index of the last mark before it, and the standard uncertainty of the turns.</returns>
    public static List<(int Mark, double UTurns)> Stitch(MarkTable table, Func<int, bool> isNewLock)
    {
        var stitcher = new Stitcher(table);
        stitcher.Split(isNewLock);
        return stitcher._stretches.Count == 0 ? [] : stitcher.Join();
    }

    private void Split(Func<int, bool> isNewLock)
    {
        int from = 0;
        for (int m = 1; m <= _table.Marks.Count; m++)
        {
            if (m < _table.Marks.Count && _table.Marks[m].Number - _table.Marks[m - 1].Number is > 0 and <= Broken && !isNewLock(m))
                continue;
            _stretches.Add(new Stretch(_stretches.Count, from, m, from > 0 && !isNewLock(from)));
            from = m;
        }
    }

    private List<(int Mark, double UTurns)> Join()
    {
        int main = 0;
        for (int i = 1; i < _stretches.Count; i++)
            main = _stretches[i].Count > _stretches[main].Count ? i : main;
        Stretch body = _stretches[main];
        _table.LearnOffsets(body.From, body.To);
        double usual = SlowingOf(body);
        var chosen = new List<Stretch> { body };
        for (int i = main - 1; i >= 0; i--)
        {
            Stretch earlier = Trimmed(_stretches[i]);
            int next = chosen.FindIndex(s => s.Count >= LeastMarks);
            if (Belongs(earlier, chosen[0], usual))
            {
                chosen.Insert(0, earlier);
            }
            else if (next > 0 && Belongs(earlier, chosen[next], usual))
            {
                chosen.RemoveRange(0, next); // a few pulses between the two told nothing
                chosen.Insert(0, earlier);
            }
        }

        for (int i = main + 1; i < _stretches.Count; i++)
        {
            Stretch later = Trimmed(_stretches[i]);
            int before = chosen.FindLastIndex(s => s.Count >= LeastMarks);
            if (Belongs(chosen[^1], later, usual))
            {
                chosen.Add(later);
            }
            else if (before >= 0 && before + 1 < chosen.Count && Belongs(chosen[before], later, usual))
            {
                chosen.RemoveRange(before + 1, chosen.Count - before - 1);
                chosen.Add(later);
            }
        }

        return Number(chosen, main);
    }

    private List<(int Mark, double UTurns)> Number(List<Stretch> chosen, int main)
    {
        var marks = new List<MarkAt>(_table.Marks.Count);
        var gaps = new List<(int Mark, double UTurns)>();
        foreach (Stretch stretch in chosen.Where(s => s.Index != main))
            Turn(stretch);
        long shift = 0;
        for (int i = 0; i < chosen.Count; i++)
        {
            Stretch here = chosen[i];
            if (i > 0)
            {
                long from = _table.Marks[chosen[i - 1].To - 1].Number + shift;
                long steps = Steps(chosen[i - 1], here, from, out double uTurns);
                shift = from + steps - _table.Marks[here.From].Number;
                gaps.Add((marks.Count - 1, uTurns));
            }

            for (int m = here.From; m < here.To; m++)
                marks.Add(_table.Marks[m] with { Number = _table.Marks[m].Number + shift });
        }

        _table.Marks = marks;
        return gaps;
    }

    private bool Belongs(Stretch before, Stretch after, double usual)
    {
        if (IsShortBreak(before, after))
            return true;
        if (before.Count < LeastMarks || after.Count < LeastMarks)
            return false;
        (double t1, double v1, _) = End(before);
        (double t2, double v2, _) = Start(after);
        double slowing = Math.Log(v1 / v2);

        return slowing > -Math.Log(Faster) && slowing < 0.03 + (QuickerThanUsual * usual * (t2 - t1));
    }

    // Where the tracker went astray, as it may at the ends of a stretch, the speed jumps about from mark to mark.
    private Stretch Trimmed(Stretch stretch)
    {
        while (stretch.Count > LeastMarks)
        {
            bool starts = IsSteady(Start(stretch).Speed, stretch.From, 1);
            bool ends = IsSteady(End(stretch).Speed, stretch.To - 1, -1);
            if (starts && ends)
                break;
            stretch = stretch with { From = stretch.From + (starts ? 0 : 1), To = stretch.To - (ends ? 0 : 1) };
        }

        return stretch;
    }

    // Few marks may be right on the whole though the outermost is not, and from that one the turns across a gap are counted.
    private bool IsSteady(double speed, int edge, int inwards)
    {
        int few = edge + (inwards * (FewMarks - 1));
        return IsNear(speed, _table.Speed(Math.Min(edge, few), Math.Max(edge, few)))
            && IsNear(speed, _table.Speed(Math.Min(edge, edge + inwards), Math.Max(edge, edge + inwards)))
            && IsNear(speed, _table.Speed(Math.Min(edge + inwards, edge + (2 * inwards)), Math.Max(edge + inwards, edge + (2 * inwards))));
    }

    private static bool IsNear(double speed, double nearby) => Math.Abs((nearby / speed) - 1) < 0.2;

    // Over a few turns the tracker's count is sure, and a hand may have pushed meanwhile.
    private bool IsShortBreak(Stretch before, Stretch after)
    {
        long steps = _table.Marks[after.From].Number - _table.Marks[before.To - 1].Number;
        if (!after.GoesOn || after.Index != before.Index + 1 || steps <= 0 || steps >= ShortTurns * _table.MarksPerTurn
            || before.Count < FewMarks || after.Count < FewMarks)
        {
            return false;
        }

        double ratio = _table.Speed(before.To - FewMarks, before.To - 1) / _table.Speed(after.From, after.From + FewMarks - 1);
        return ratio > 0.5 && ratio < (after.Count < LeastMarks ? 1.05 : 1.2);
    }

    // By how much of itself the speed falls a second, in the stretch with most marks.
    private double SlowingOf(Stretch body)
    {
        // After a quarter, and after the last flick of the hand.
        (double t1, double v1, _) = SideFrom(body.Count / 4);
        for (int share = 9; share < Parts; share++)
        {
            (double t, double v, _) = SideFrom((int)((long)body.Count * share / Parts));
            if (v > Faster * v1)
                (t1, v1) = (t, v);
        }

        (double t2, double v2, _) = Side(Math.Max(body.From, body.To - 1 - _sideMarks), body.To);
        return Math.Max(0.002, Math.Log(v1 / v2) / Math.Max(1, t2 - t1));

        (double TimeS, double Speed, double Past) SideFrom(int mark) => Side(body.From + mark, Math.Min(body.To, body.From + mark + _sideMarks));
    }

    // Marks from the last of a stretch to the first of the next. Their pattern tells the mark of the turn, the speeds how many turns.
    private long Steps(Stretch before, Stretch after, long from, out double uTurns)
    {
        if (IsShortBreak(before, after))
        {
            uTurns = 0;
            return _table.Marks[after.From].Number - _table.Marks[before.To - 1].Number;
        }

        (double t1, double v1, double past) = End(before);
        (double t2, double v2, double ahead) = Start(after);
        double dt = _table.At(after.From) - _table.At(before.To - 1);
        double turns = Coasting.TurnsBetween(v1, v2, t2 - t1) - past - ahead;
        uTurns = Coasting.UTurns(dt, 2e-4 * v1, 0, Math.Abs(v1 - v2));
        double angle = _table.Position(from) + turns;
        int n = _table.MarksPerTurn;
        if (_unplaced.Contains(before.Index) || _unplaced.Contains(after.Index))
            return Math.Max(1, Nearest(angle) - from);
        long place = _table.Place(_table.Marks[after.From].Number);
        long turn = (long)Math.Round(angle - _table.Offsets[place]);
        long number = (turn * n) + place;
        return number > from ? number - from : number - from + n;
    }

    private long Nearest(double angle)
    {
        long guess = (long)Math.Round(angle * _table.MarksPerTurn);
        long best = guess;
        for (long number = guess - 1; number <= guess + 1; number++)
        {
            if (Math.Abs(_table.Position(number) - angle) < Math.Abs(_table.Position(best) - angle))
                best = number;
        }

        return best;
    }

    // Renumbers the marks of a stretch so that mark 0 of the turn is the one that it is in the stretch with most marks.
    private void Turn(Stretch stretch)
    {
        int rotation = _table.MarksPerTurn == 1 ? 0 : stretch.Count < LeastMarks ? -1 : MarkPattern.Rotation(_table, stretch.From, stretch.To);
        if (rotation < 0)
            _unplaced.Add(stretch.Index);
        for (int m = stretch.From; m < stretch.To && rotation > 0; m++)
            _table.Marks[m] = _table.Marks[m] with { Number = _table.Marks[m].Number + rotation };
    }

    private (double TimeS, double Speed, double Turns) End(Stretch stretch)
    {
        (double time, double speed, double angle) = Side(Math.Max(stretch.From, stretch.To - 1 - _sideMarks), stretch.To);
        return (time, speed, _table.Position(_table.Marks[stretch.To - 1].Number) - angle);
    }

    private (double TimeS, double Speed, double Turns) Start(Stretch stretch)
    {
        (double time, double speed, double angle) = Side(stretch.From, Math.Min(stretch.To, stretch.From + 1 + _sideMarks));
        return (time, speed, angle - _table.Position(_table.Marks[stretch.From].Number));
    }

    // Mean time, speed and mean angle over some marks: a straight line through them.
    private (double TimeS, double Speed, double Angle) Side(int from, int to)
    {
        double count = to - from;
        double t0 = _table.At(from);
        double a0 = _table.Position(_table.Marks[from].Number);
        (double st, double sa, double stt, double sta) = (0, 0, 0, 0);
        for (int m = from; m < to; m++)
        {
            double t = _table.At(m) - t0;
            double a = _table.Position(_table.Marks[m].Number) - a0;
            st += t;
            sa += a;
            stt += t * t;
            sta += t * a;
        }

        double speed = (sta - (st * sa / count)) / Math.Max(1e-12, stt - (st * st / count));
        return (t0 + (st / count), speed, a0 + (sa / count));
    }

    /// <summary>Marks that the tracker followed without a break.</summary>
    /// <param name="Index">Which stretch.</param>
    /// <param name="From">Its first mark.</param>
    /// <param name="To">The one after its last.</param>
    /// <param name="GoesOn">Whether the tracker took it for the body of the stretch before.</param>
    private readonly record struct Stretch(int Index, int From, int To, bool GoesOn)
    {
        public int Count => To - From;
    }
}
