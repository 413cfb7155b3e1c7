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
    /// <summary>Judges <paramref name="pulses"/>: the longest spin in them. Marks of another body or of a fallen one that rolls are extras.
    /// What the live tracker found is stitched together and looked at again with both sides known.</summary>
    public static JudgedRun Judge(IReadOnlyList<Pulse> pulses, TrackerSettings settings)
    {
        var judged = new List<JudgedPulse>(pulses.Count);
        int light = EndLight.From([.. pulses.Select(p => (p.Ticks - pulses[0].Ticks) / settings.TickHz)]);
        List<Lock> locks = Track(pulses, settings, light, judged);
        Lock main = locks.MaxBy(l => l.Marks)!;
        var table = new MarkTable(judged, settings.TickHz, main.Offsets) { LightFrom = light };
        table.Marks = Marks(judged, locks, table, out HashSet<int> starts);
        EvenSteps.Renumber(table);
        LateRow.Join(table, starts);
        List<(int Mark, double UTurns)> gaps = Stitcher.Stitch(table, starts.Contains);
        List<(int Pulse, double UTurns)> bridged = [.. gaps.Select(g => (table.Marks[g.Mark].Pulse, g.UTurns))];
        RunReview.Review(table);
        return Settle(judged, table, bridged);
    }

    private static List<Lock> Track(IReadOnlyList<Pulse> pulses, TrackerSettings settings, int light, List<JudgedPulse> judged)
    {
        var tracker = new MarkTracker(settings with { IsOneRun = true });
        var locks = new List<Lock> { new(0) };
        int number = tracker.LockNumber;
        foreach (Pulse pulse in pulses)
        {
            int before = judged.Count;
            if (!tracker.IsLocked)
                locks[^1].Offsets = [.. tracker.MarkOffsets];
            tracker.Add(pulse, judged);
            if (number != tracker.LockNumber)
                locks.Add(new Lock(before));
            number = tracker.LockNumber;
            for (int i = before; i < Math.Min(light, judged.Count); i++)
                locks[^1].Marks += judged[i].Kind == PulseKind.Mark ? 1 : 0;
        }

        locks[^1].Offsets = [.. tracker.MarkOffsets];
        tracker.Finish(judged);
        return locks;
    }

    private static List<MarkAt> Marks(List<JudgedPulse> judged, List<Lock> locks, MarkTable table, out HashSet<int> starts)
    {
        var marks = new List<MarkAt>(judged.Count);
        starts = [];
        for (int k = 0; k < locks.Count; k++)
        {
            starts.Add(marks.Count);
            int to = Math.Min(table.LightFrom, k + 1 < locks.Count ? locks[k + 1].From : judged.Count);
            double[] offsets = locks[k].Offsets;
            for (int i = locks[k].From; i < to; i++)
            {
                JudgedPulse p = judged[i];
                if (p.Kind == PulseKind.Mark)
                    marks.Add(new MarkAt(i, ((long)Math.Round(p.Turns - offsets[p.Mark]) * table.MarksPerTurn) + p.Mark));
            }
        }

        return marks;
    }

    private static JudgedRun Settle(List<JudgedPulse> judged, MarkTable table, List<(int Pulse, double UTurns)> bridged)
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
        return new JudgedRun(judged, marks.Count, passed - marks.Count, table.Offsets, Bridges(bridged, judged, table)) { MarksSeen = table.MarksSeen };
    }

    // Marks found within a gap make it shorter, or close it.
    private static List<Bridge> Bridges(List<(int Pulse, double UTurns)> bridged, List<JudgedPulse> judged, MarkTable table)
    {
        const int LeastMissed = 4;
        var bridges = new List<Bridge>();
        int next = 0;
        for (int m = 0; m + 1 < table.Marks.Count && next < bridged.Count; m++)
        {
            (MarkAt a, MarkAt b) = (table.Marks[m], table.Marks[m + 1]);
            if (b.Pulse <= bridged[next].Pulse)
                continue;
            if (b.Number - a.Number > LeastMissed)
            {
                double turns = table.Position(b.Number) - table.Position(a.Number);
                bridges.Add(new Bridge(judged[a.Pulse].Ticks, judged[b.Pulse].Ticks, turns, bridged[next].UTurns));
            }

            while (next < bridged.Count && b.Pulse > bridged[next].Pulse)
                next++;
        }

        return bridges;
    }

    /// <summary>What the tracker said while one lock held.</summary>
    /// <param name="from">Its first pulse.</param>
    private sealed class Lock(int from)
    {
        public int From { get; } = from;

        /// <summary>Where the marks sat, as learnt.</summary>
        public double[] Offsets { get; set; } = [];

        public long Marks { get; set; }
    }
}
