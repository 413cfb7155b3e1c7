using Acquire.Acquisition;

namespace Acquire.Conditioning;

/// <summary>The pulses of one run with their judgement.</summary>
/// <param name="Pulses">All pulses, in the order in which they came; turns count from the first of them that is a mark.</param>
/// <param name="Marks">How many are marks.</param>
/// <param name="Missed">Marks that passed unseen between the first and the last mark, those of bridged gaps included.</param>
/// <param name="MarkOffsets">Where each mark sits, turns from mark 0.</param>
/// <param name="Bridges">The gaps that were bridged by prediction.</param>
public sealed record JudgedRun(
    IReadOnlyList<JudgedPulse> Pulses, long Marks, long Missed, IReadOnlyList<double> MarkOffsets, IReadOnlyList<Bridge> Bridges)
{
    /// <summary>How many marks the body seems to have; 0 where the pulses do not tell. Where it is not what was set, the set-up is wrong or
    /// something bright on the body looks like a mark.</summary>
    public int MarksSeen { get; init; }
}

/// <summary>A gap in the marks that was bridged by prediction.</summary>
/// <param name="FromTicks">The last mark before it.</param>
/// <param name="ToTicks">The first mark after it.</param>
/// <param name="Turns">Turns taken to lie between them.</param>
/// <param name="UTurns">Standard uncertainty of that number.</param>
public readonly record struct Bridge(long FromTicks, long ToTicks, double Turns, double UTurns);

/// <summary>Judges a whole run at once, after it ended.</summary>
public static class RunJudge
{
    /// <summary>Judges <paramref name="pulses"/>. The run is the lock that holds most marks; marks of other locks in the same pulses (the
    /// body rolling after its fall) are extras. What the live tracker found is then looked at again with both sides known.</summary>
    public static JudgedRun Judge(IReadOnlyList<Pulse> pulses, TrackerSettings settings)
    {
        var judged = new List<JudgedPulse>(pulses.Count);
        List<Stretch> locks = Track(pulses, settings, judged);
        int main = MainLock(judged, locks, out int from, out int to);
        to = TailTrimmed(judged, from, to, settings.MarksPerTurn);
        var table = new MarkTable(judged, settings.TickHz, locks[main].Offsets);
        table.Marks = Marks(judged, from, to, table);
        RunReview.Review(table);
        return Settle(judged, table, locks[main].Bridges);
    }

    private static List<Stretch> Track(IReadOnlyList<Pulse> pulses, TrackerSettings settings, List<JudgedPulse> judged)
    {
        var tracker = new MarkTracker(settings);
        var locks = new List<Stretch> { new(0, [.. tracker.MarkOffsets], []) };
        int number = tracker.LockNumber;
        double bridged = 0;
        foreach (Pulse pulse in pulses)
        {
            int before = judged.Count;
            long lastMark = tracker.LastMarkTicks;
            if (!tracker.IsLocked)
                locks[^1] = locks[^1] with { Offsets = [.. tracker.MarkOffsets] };
            tracker.Add(pulse, judged);
            if (number != tracker.LockNumber)
                locks.Add(new Stretch(before, [.. tracker.MarkOffsets], []));
            number = tracker.LockNumber;
            if (tracker.BridgedTurns != bridged)
            {
                bridged = tracker.BridgedTurns;
                long back = FirstMark(judged, before);
                locks[^1].Bridges.Add(new Bridge(lastMark, back, bridged, tracker.UBridgedTurns));
            }
        }

        locks[^1] = locks[^1] with { Offsets = [.. tracker.MarkOffsets] };
        tracker.Finish(judged);
        return locks;
    }

    private static long FirstMark(List<JudgedPulse> judged, int from)
    {
        int at = judged.FindIndex(from, p => p.Kind == PulseKind.Mark);
        return judged[at].Ticks;
    }

    private static List<MarkAt> Marks(List<JudgedPulse> judged, int from, int to, MarkTable table)
    {
        var marks = new List<MarkAt>(to - from);
        for (int i = from; i < to; i++)
        {
            JudgedPulse p = judged[i];
            if (p.Kind == PulseKind.Mark)
                marks.Add(new MarkAt(i, ((long)Math.Round(p.Turns - table.Offsets[p.Mark]) * table.MarksPerTurn) + p.Mark));
        }

        return marks;
    }

    private static int MainLock(List<JudgedPulse> judged, List<Stretch> bounds, out int from, out int to)
    {
        (int best, int most) = (0, -1);
        (from, to) = (0, judged.Count);
        for (int i = 0; i < bounds.Count; i++)
        {
            int end = i + 1 < bounds.Count ? bounds[i + 1].From : judged.Count;
            int marks = 0;
            for (int k = bounds[i].From; k < end; k++)
                marks += judged[k].Kind == PulseKind.Mark ? 1 : 0;
            if (marks > most)
                (best, most, from, to) = (i, marks, bounds[i].From, end);
        }

        return best;
    }

    // A body that has fallen flashes now and then where a mark might have been. Among the last marks the first that came at a speed far
    // from that of those before it ended the spin, and the last is one that two others led up to.
    private static int TailTrimmed(List<JudgedPulse> judged, int from, int to, int marksPerTurn)
    {
        const int Tail = 14;
        const int Before = 5;
        var marks = new List<int>(Tail + Before);
        for (int i = to - 1; i >= from && marks.Count < Tail + Before; i--)
        {
            if (judged[i].Kind == PulseKind.Mark)
                marks.Add(i);
        }

        marks.Reverse();
        int end = marks.Count;
        for (int m = Before + 1; m < end; m++)
        {
            double before = Speed(judged, marks[m - 1 - Before], marks[m - 1]);
            if (Math.Abs((Speed(judged, marks[m - 1], marks[m]) / before) - 1) > 0.4)
                end = m;
        }

        double reach = 4.5 / marksPerTurn;
        while (end > Before && judged[marks[end - 1]].Turns - judged[marks[end - 3]].Turns > reach)
            end--;
        return end == marks.Count ? to : marks[end - 1] + 1;
    }

    private static double Speed(List<JudgedPulse> judged, int a, int b) =>
        (judged[b].Turns - judged[a].Turns) / (judged[b].Ticks - judged[a].Ticks);

    private static JudgedRun Settle(List<JudgedPulse> judged, MarkTable table, List<Bridge> bridges)
    {
        List<MarkAt> marks = table.Marks;
        if (marks.Count == 0)
        {
            for (int i = 0; i < judged.Count; i++)
                judged[i] = judged[i] with { Kind = PulseKind.Extra, Mark = -1, Turns = 0 };
            return new JudgedRun(judged, 0, 0, table.Offsets, []);
        }

        double origin = table.Position(marks[0].Number);
        double turns = 0;
        double speed = 0;
        int last = 0;
        int next = 0;
        for (int i = 0; i < judged.Count; i++)
        {
            if (next < marks.Count && marks[next].Pulse == i)
            {
                turns = table.Position(marks[next].Number) - origin;
                speed = next + 1 < marks.Count ? table.Speed(next, next + 1) : 0;
                last = i;
                judged[i] = judged[i] with { Kind = PulseKind.Mark, Mark = table.Place(marks[next++].Number), Turns = turns };
                continue;
            }

            double at = turns + (speed * (table.TimeS[i] - table.TimeS[last]));
            judged[i] = judged[i] with { Kind = PulseKind.Extra, Mark = -1, Turns = at };
        }

        long passed = marks[^1].Number - marks[0].Number + 1;
        return new JudgedRun(judged, marks.Count, passed - marks.Count, table.Offsets, Placed(bridges, judged, table)) { MarksSeen = table.MarksSeen };
    }

    // Marks found within a gap make it shorter, or close it.
    private static List<Bridge> Placed(List<Bridge> bridges, List<JudgedPulse> judged, MarkTable table)
    {
        var placed = new List<Bridge>();
        int m = 0;
        foreach (Bridge bridge in bridges)
        {
            int widest = -1;
            long most = 4;
            for (; m + 1 < table.Marks.Count && judged[table.Marks[m].Pulse].Ticks < bridge.ToTicks; m++)
            {
                long step = table.Marks[m + 1].Number - table.Marks[m].Number;
                if (judged[table.Marks[m + 1].Pulse].Ticks > bridge.FromTicks && step > most)
                    (widest, most) = (m, step);
            }

            if (widest >= 0)
            {
                (MarkAt a, MarkAt b) = (table.Marks[widest], table.Marks[widest + 1]);
                placed.Add(bridge with
                {
                    FromTicks = judged[a.Pulse].Ticks,
                    ToTicks = judged[b.Pulse].Ticks,
                    Turns = table.Position(b.Number) - table.Position(a.Number),
                });
            }
        }

        return placed;
    }

    /// <summary>What the tracker said while one lock held.</summary>
    /// <param name="From">Its first pulse.</param>
    /// <param name="Offsets">Where the marks sat, as learnt.</param>
    /// <param name="Bridges">Gaps in it.</param>
    private sealed record Stretch(int From, double[] Offsets, List<Bridge> Bridges);
}
