using Acquire.Acquisition;

namespace Acquire.Conditioning;

/// <summary>A few pulses that follow each other as the marks of one body would.</summary>
/// <param name="FirstIndex">Which waiting pulse is the first of them.</param>
/// <param name="MarksBefore">How many waiting pulses before that one fit as earlier marks of the same launch.</param>
/// <param name="EarliestIndex">Which waiting pulse is the earliest of those.</param>
/// <param name="FirstTicks">Ticks of the first of them.</param>
/// <param name="FirstSpeed">Speed there, turns a second.</param>
/// <param name="Speed">Speed at the last of them.</param>
/// <param name="Acceleration">Turns a second squared.</param>
/// <param name="Count">How many pulses were fitted.</param>
internal readonly record struct LockFit(
    int FirstIndex, int MarksBefore, int EarliestIndex, long FirstTicks, double FirstSpeed, double Speed, double Acceleration, int Count)
{
    /// <summary>A guess at the speed so many marks before the first.</summary>
    public double StartSpeed(int marksBefore) => marksBefore == 0 ? FirstSpeed : 0.5 * FirstSpeed;
}

/// <summary>Pulses that wait for a judgement while no lock is held, and those rejected in a row while one is.</summary>
internal sealed class PulseBacklog(TrackerSettings settings)
{
    /// <summary>At most so many pulses wait.</summary>
    public const int Capacity = 64;

    /// <summary>So many pulses in a row make a lock.</summary>
    public const int Needed = 5;

    /// <summary>So many, where other pulses lie among them.</summary>
    public const int NeededAmongExtras = 6;

    /// <summary>So many, where a body is already known that may come back.</summary>
    public const int NeededToReplace = 10;

    private const double EvenOne = 0.06;     // how even intervals are where there is one mark
    private const double EvenSeveral = 0.16; // and where there are several, each up to 6 % off
    private readonly Pulse[] _pulses = new Pulse[Capacity];
    private readonly bool[] _bounced = new bool[Capacity];
    private readonly double _longest = settings.TickHz / (settings.SlowestTurnsPerS * settings.MarksPerTurn);
    private readonly double _shortest = settings.TickHz / (settings.FastestTurnsPerS * settings.MarksPerTurn);
    private readonly int[] _rows = new int[Capacity]; // places of the pulses that are no bounce, oldest first
    private readonly long[] _rowTicks = new long[Capacity];
    private readonly int[] _chosen = new int[NeededToReplace];
    private int _rowCount;

    public int Count { get; private set; }

    public bool IsFull => Count == Capacity;

    public void Clear() => Count = 0;

    /// <summary>Keeps a pulse that waits; the caller has made room.</summary>
    /// <param name="pulse">The pulse.</param>
    /// <param name="bounced">It came too soon after another to be a mark.</param>
    public void Wait(in Pulse pulse, bool bounced)
    {
        _bounced[Count] = bounced;
        _pulses[Count++] = pulse;
    }

    /// <summary>Keeps a pulse that was already handed out as an extra, the oldest giving way.</summary>
    public void Remember(in Pulse pulse)
    {
        if (IsFull)
            Drop(1);
        Wait(pulse, bounced: false);
    }

    /// <summary>Ticks of the last pulse that is no bounce; far in the past where there is none.</summary>
    public long LastTicks
    {
        get
        {
            for (int i = Count - 1; i >= 0; i--)
            {
                if (!_bounced[i])
                    return _pulses[i].Ticks;
            }

            return long.MinValue / 2;
        }
    }

    /// <summary>Hands out the oldest pulse as an extra.</summary>
    public void RejectOldest(List<JudgedPulse> judged, Func<long, double> angleAt) => RejectUpTo(1, judged, angleAt);

    /// <summary>Hands out all as extras.</summary>
    public void RejectAll(List<JudgedPulse> judged, Func<long, double> angleAt) => RejectUpTo(Count, judged, angleAt);

    /// <summary>Hands out the first <paramref name="count"/> as extras.</summary>
    public void RejectUpTo(int count, List<JudgedPulse> judged, Func<long, double> angleAt)
    {
        for (int i = 0; i < count; i++)
        {
            Pulse p = _pulses[i];
            judged.Add(new JudgedPulse(p.Ticks, p.WidthTicks, PulseKind.Extra, -1, angleAt(p.Ticks)));
        }

        Drop(count);
    }

    /// <summary>Takes the oldest pulse out.</summary>
    public bool TryTake(out Pulse pulse, out bool bounced)
    {
        pulse = Count > 0 ? _pulses[0] : default;
        bounced = Count > 0 && _bounced[0];
        if (Count == 0)
            return false;
        Drop(1);
        return true;
    }

    /// <summary>Whether the last <paramref name="needed"/> pulses that are no bounce follow each other as marks would: intervals within what
    /// bodies do, each not much shorter or longer than the one before.</summary>
    public bool TryFit(int needed, out LockFit fit)
    {
        fit = default;
        FindRows();
        if (_rowCount < needed || !IsRow(needed))
            return false;
        Span<int> chosen = _chosen.AsSpan(0, needed);
        for (int i = 0; i < needed; i++)
            chosen[i] = _rowCount - needed + i;
        fit = Fit(chosen);
        return true;
    }

    /// <summary>The same for pulses among which some are no marks; those are then taken for bounces.</summary>
    public bool TryFitAmongExtras(int needed, out LockFit fit)
    {
        fit = default;
        FindRows();
        if (_rowCount < needed)
            return false;
        Span<int> chosen = _chosen.AsSpan(0, needed);
        bool one = settings.MarksPerTurn == 1;
        int skipped = one ? needed : needed / 2;
        if (!MarkChain.TryFind(_rowTicks.AsSpan(0, _rowCount), chosen, skipped, one ? EvenOne : EvenSeveral, _shortest, _longest))
            return false;
        fit = Fit(chosen);
        int next = 0;
        for (int row = chosen[0]; row < _rowCount; row++)
        {
            if (row == chosen[next])
                next++;
            else
                _bounced[_rows[row]] = true;
        }

        return true;
    }

    /// <summary>How badly the pulses of the last fit, taken for marks from <paramref name="firstMark"/> on, agree with where the marks sit:
    /// what a straight line of angle over time leaves, turns squared.</summary>
    public double Misfit(MarkSpacing spacing, long firstMark, int count)
    {
        double origin = spacing.Position(firstMark);
        (double st, double sa, double stt, double sta, double saa) = (0, 0, 0, 0, 0);
        for (int i = 0; i < count; i++)
        {
            double t = (_rowTicks[_chosen[i]] - _rowTicks[_chosen[0]]) / settings.TickHz;
            double a = spacing.Position(firstMark + i) - origin;
            st += t;
            sa += a;
            stt += t * t;
            sta += t * a;
            saa += a * a;
        }

        double tt = stt - (st * st / count);
        double ta = sta - (st * sa / count);
        return Math.Max(0, saa - (sa * sa / count) - (ta * ta / tt));
    }

    private bool IsRow(int needed)
    {
        double last = 0;
        double change = 0;
        int turnings = 0;
        for (int i = _rowCount - needed + 1; i < _rowCount; i++)
        {
            double interval = Interval(i);
            if (interval > _longest || interval < _shortest)
                return false;
            if (last > 0 && (interval < 0.6 * last || interval > 1.5 * last))
                return false;
            double off = last > 0 ? interval - last : 0;
            if (off * change < 0 && Math.Min(Math.Abs(off), Math.Abs(change)) > EvenOne * interval)
                turnings++;
            change = off;
            last = interval;
        }

        // One mark cannot come early and late by turns; a mark and a bright place can.
        return settings.MarksPerTurn > 1 || turnings < needed - 3;
    }

    private void FindRows()
    {
        _rowCount = 0;
        for (int i = 0; i < Count; i++)
        {
            if (_bounced[i])
                continue;
            _rows[_rowCount] = i;
            _rowTicks[_rowCount++] = _pulses[i].Ticks;
        }
    }

    private double Interval(int row) => _rowTicks[row] - _rowTicks[row - 1];

    private LockFit Fit(ReadOnlySpan<int> chosen)
    {
        double spacing = 1.0 / settings.MarksPerTurn;
        int last = chosen.Length - 1;
        int half = last / 2;
        int first = chosen[0];
        long from = _rowTicks[first];
        double t1 = (_rowTicks[chosen[half]] - from) / settings.TickHz;
        double t2 = (_rowTicks[chosen[last]] - from) / settings.TickHz;
        double v1 = half * spacing / t1;
        double v2 = (last - half) * spacing / (t2 - t1);
        double acceleration = (v2 - v1) / (0.5 * t2);
        int before = RowsBefore(first, _rowTicks[chosen[1]] - from);
        return new LockFit(
            _rows[first], before, _rows[first - before], from, Math.Max(0.1 * v1, v1 - (0.5 * acceleration * t1)),
            v2 + (0.5 * acceleration * (t2 - t1)), acceleration, chosen.Length);
    }

    // In a launch from rest the first intervals shrink by more than a lock allows: each earlier one may be up to four times the next.
    private int RowsBefore(int first, double next)
    {
        int before = 0;
        for (int row = first; row > 0; row--)
        {
            double interval = Interval(row);
            if (interval < 0.9 * next || interval > 4 * next || interval > _longest)
                break;
            next = interval;
            before++;
        }

        return before;
    }

    private void Drop(int count)
    {
        Array.Copy(_pulses, count, _pulses, 0, Count - count);
        Array.Copy(_bounced, count, _bounced, 0, Count - count);
        Count -= count;
    }
}
