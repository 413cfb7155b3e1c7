using Acquire.Acquisition;

namespace Acquire.Conditioning;

/// <summary>The pulses of one run with their judgement.</summary>
/// <param name="Pulses">All pulses, in the order in which they came; turns count from the first of them that is a mark.</param>
/// <param name="Marks">How many are marks.</param>
/// <param name="Missed">Marks that passed unseen between the first and the last mark, those of bridged gaps included.</param>
/// <param name="MarkOffsets">Where each mark sits, turns from mark 0.</param>
/// <param name="Bridges">The gaps that were bridged by prediction.</param>
public sealed record JudgedRun(
    IReadOnlyList<JudgedPulse> Pulses, long Marks, long Missed, IReadOnlyList<double> MarkOffsets, IReadOnlyList<Bridge> Bridges);

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
    /// body rolling after its fall) are extras.</summary>
    public static JudgedRun Judge(IReadOnlyList<Pulse> pulses, TrackerSettings settings)
    {
        var tracker = new MarkTracker(settings);
        var judged = new List<JudgedPulse>(pulses.Count);
        var bounds = new List<(int Lock, int From)>();
        var bridges = new List<(int Lock, Bridge Bridge)>();
        double bridged = 0;
        foreach (Pulse pulse in pulses)
        {
            int before = judged.Count;
            long lastMark = tracker.LastMarkTicks;
            tracker.Add(pulse, judged);
            if (bounds.Count == 0 || bounds[^1].Lock != tracker.LockNumber)
                bounds.Add((tracker.LockNumber, before));
            if (tracker.BridgedTurns != bridged)
            {
                bridged = tracker.BridgedTurns;
                long back = FirstMark(judged, before);
                bridges.Add((tracker.LockNumber, new Bridge(lastMark, back, bridged, tracker.UBridgedTurns)));
            }
        }

        tracker.Finish(judged);
        int main = MainLock(judged, bounds, out int from, out int to);
        to = TailTrimmed(judged, from, to, settings.MarksPerTurn);
        return Settle(judged, from, to, settings.MarksPerTurn, tracker.MarkOffsets, [.. bridges.Where(b => b.Lock == main).Select(b => b.Bridge)]);
    }

    private static long FirstMark(List<JudgedPulse> judged, int from)
    {
        int at = judged.FindIndex(from, p => p.Kind == PulseKind.Mark);
        return judged[at].Ticks;
    }

    private static int MainLock(List<JudgedPulse> judged, List<(int Lock, int From)> bounds, out int from, out int to)
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
                (best, most, from, to) = (bounds[i].Lock, marks, bounds[i].From, end);
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

    private static JudgedRun Settle(
        List<JudgedPulse> judged, int from, int to, int marksPerTurn, IReadOnlyList<double> offsets, IReadOnlyList<Bridge> bridges)
    {
        int first = judged.FindIndex(from, to - from, p => p.Kind == PulseKind.Mark);
        double origin = first < 0 ? 0 : judged[first].Turns;
        long marks = 0;
        double last = origin;
        for (int i = 0; i < judged.Count; i++)
        {
            JudgedPulse p = judged[i];
            bool mark = p.Kind == PulseKind.Mark && i >= from && i < to;
            if (mark)
            {
                // Marks are placed again by the spacing as it was known at the end.
                double turns = Math.Floor(p.Turns + (0.5 / marksPerTurn) - offsets[p.Mark]) + offsets[p.Mark];
                judged[i] = p with { Turns = (marksPerTurn == 1 ? p.Turns : turns) - origin };
                last = judged[i].Turns;
                marks++;
            }
            else
            {
                double turns = i < from ? 0 : i >= to ? last : p.Turns - origin;
                judged[i] = p with { Kind = PulseKind.Extra, Mark = -1, Turns = turns };
            }
        }

        long passed = marks == 0 ? 0 : (long)Math.Round(last * marksPerTurn) + 1;
        return new JudgedRun(judged, marks, Math.Max(0, passed - marks), [.. offsets], bridges);
    }
}
