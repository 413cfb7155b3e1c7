using Acquire.Acquisition;

namespace Acquire.Conditioning;

/// <summary>Goes over a run that the live tracker judged: each mark with both sides known, the launch backwards, the fall and the edges of
/// gaps from where the marks are sure.</summary>
internal static class RunReview
{
    private const int InnerMarks = 6;        // so many sure marks tell where the next must be
    private const int LeastMarks = 24;
    private const int WideGap = 12;          // marks
    private const int FurthestPulses = 6000; // an edge is sought no further from what is sure
    private const double SeldomMissed = 6;   // −ln of the probability of a mark missed where a fall may have come instead
    private const int LeastLampRow = 8;
    private const int MostRounds = 6;        // beyond so many bursts of misses the live tracker's marks are kept as they are
    private const double Missed = 3.5;

    public static void Review(MarkTable table)
    {
        if (table.Marks.Count < LeastMarks)
            return;
        table.LearnOffsets(0, table.Marks.Count);
        Recount.Check(table);
        if (WobbleTrack.TakeOut(table, AfterRelease(table)))
            table.LearnOffsets(0, table.Marks.Count);
        table.LearnWidth();
        (double jitterS, double atEndS) = Hindsight.Reconsider(table);
        if (BodyPlaces.Study(table))
        {
            table.LearnWidth();
            (jitterS, atEndS) = Hindsight.Reconsider(table);
        }

        FillGaps(table, jitterS);
        int anchor = AfterRelease(table);
        int first = AfterLamp(table, table.Marks[anchor].Pulse);
        table.Marks.RemoveAll(m => m.Pulse < first || m.Pulse >= table.LightFrom);
        if (table.Marks.Count < LeastMarks)
            return;
        FollowBack(table, jitterS, first);
        FollowOn(table, Math.Max(jitterS, atEndS), table.LightFrom - 1);
    }

    // The first pulse before one in the spin that is no light of a lamp, which a body at rest may reflect.
    private static int AfterLamp(MarkTable table, int pulse)
    {
        var lamp = new LampLight(1e9);
        int first = Math.Max(0, pulse - FurthestPulses);
        int from = first;
        bool isLamp = false;
        for (int i = first; i < pulse; i++)
        {
            lamp.See(new Pulse((long)(table.TimeS[i] * 1e9), 0, -1));
            isLamp = isLamp ? lamp.Row > 0 : lamp.Row >= LeastLampRow && !double.IsNaN(lamp.Hz);
            if (isLamp)
                from = i + 1;
        }

        return from;
    }

    // From shortly after the release back through the launch.
    private static void FollowBack(MarkTable table, double jitterS, int outermost)
    {
        int anchor = AfterRelease(table);
        if (table.Marks[anchor].Pulse > FurthestPulses)
            anchor = 0;
        anchor = Math.Clamp(anchor, 0, table.Marks.Count - 8);
        var parts = new List<List<MarkAt>> { table.Marks[anchor..] };
        for (int round = 0; ; round++)
        {
            if (round == MostRounds)
            {
                parts.Add(table.Marks[..anchor]);
                break;
            }

            int first = Math.Max(outermost, table.Marks[anchor].Pulse - FurthestPulses);
            List<MarkAt> found = EdgeSearch.Beyond(table, anchor, -1, first, jitterS, Missed);
            parts.Add(found);

            // Beyond a burst of misses the search goes on from what the live tracker had there.
            MarkAt earliest = found.Count > 0 ? found[0] : table.Marks[anchor];
            int last = Math.Min(anchor - 1, table.Marks.FindIndex(m => m.Pulse >= earliest.Pulse || m.Number >= earliest.Number) - 1);
            if (last < InnerMarks)
                break;
            anchor = last - InnerMarks + 1;
            parts.Add(table.Marks[anchor..(last + 1)]);
        }

        parts.Reverse();
        table.Marks = [.. parts.SelectMany(p => p)];
    }

    // The mark two turns or so after the speed was greatest; over a gap nothing says it well, least of all where a board began anew in it and its
    // ticks go on by the host's clock.
    private static int AfterRelease(MarkTable table)
    {
        int step = 2 * table.MarksPerTurn;
        int best = 0;
        double fastest = 0;
        for (int m = 0; m + step < table.Marks.Count; m++)
        {
            if (table.Marks[m + step].Number - table.Marks[m].Number > 2 * step)
                continue;
            double speed = table.Speed(m, m + step);
            if (speed > fastest)
                (best, fastest) = (m, speed);
            else if (speed < 0.8 * fastest && m - best > 20 * table.MarksPerTurn)
                break;
        }

        return Math.Min(best + (2 * step), table.Marks.Count - 1);
    }

    private static void FollowOn(MarkTable table, double jitterS, int outermost)
    {
        int anchor = Math.Max(8, table.Marks.Count - 1 - Math.Max(12, 2 * table.MarksPerTurn));
        anchor = Math.Max(anchor, Math.Min(LastAfterGap(table) + InnerMarks - 1, table.Marks.Count - 1));
        int last = Math.Min(outermost, table.Marks[anchor].Pulse + FurthestPulses);
        var parts = new List<List<MarkAt>> { table.Marks[..(anchor + 1)] };
        for (int round = 0; round < MostRounds; round++)
        {
            List<MarkAt> found = EdgeSearch.Beyond(table, anchor, 1, last, jitterS, SeldomMissed);
            parts.Add(found);

            // A burst of misses is no fall where the same speed goes on after it.
            MarkAt latest = found.Count > 0 ? found[^1] : table.Marks[anchor];
            int next = table.Marks.FindIndex(anchor, m => m.Pulse > latest.Pulse && m.Number > latest.Number);
            if (next < 0 || next + InnerMarks > table.Marks.Count || !GoesOn(table, anchor, next))
                break;
            anchor = next + InnerMarks - 1;
            parts.Add(table.Marks[next..(anchor + 1)]);
        }

        table.Marks = [.. parts.SelectMany(p => p)];
    }

    // The first mark after the last gap: beyond one the speeds before it foretell nothing.
    private static int LastAfterGap(MarkTable table)
    {
        int m = table.Marks.Count - 1;
        while (m > 0 && table.Marks[m].Number - table.Marks[m - 1].Number <= WideGap)
            m--;
        return m;
    }

    private static bool GoesOn(MarkTable table, int before, int after) =>
        Math.Abs((table.Speed(after, after + InnerMarks - 1) / table.Speed(Math.Max(0, before - InnerMarks), before)) - 1) < 0.2;

    // Pulses at the edges of a gap, that no lock held, may be marks.
    private static void FillGaps(MarkTable table, double jitterS)
    {
        const int LeastGap = 4;
        const int MostPulses = 400;
        var filled = new List<MarkAt>(table.Marks.Count);
        for (int m = 0; m < table.Marks.Count; m++)
        {
            MarkAt left = table.Marks[m];
            filled.Add(left);
            if (m + 1 == table.Marks.Count)
                break;
            MarkAt right = table.Marks[m + 1];
            int between = right.Pulse - left.Pulse - 1;
            if (right.Number - left.Number <= LeastGap || between is 0 or > MostPulses)
                continue;
            foreach (MarkAt mark in EdgeSearch.Beyond(table, m, 1, right.Pulse - 1, jitterS, SeldomMissed).TakeWhile(k => k.Number < right.Number))
                filled.Add(mark);
            MarkAt last = filled[^1];
            filled.AddRange(EdgeSearch.Beyond(table, m + 1, -1, left.Pulse + 1, jitterS, Missed)
                .Where(k => k.Number > last.Number && k.Pulse > last.Pulse));
        }

        table.Marks = filled;
    }
}
