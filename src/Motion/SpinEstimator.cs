namespace Acquire.Motion;

/// <summary>The best estimate of a run's speed after it ended: the marks before and after each moment are used.</summary>
public static class SpinEstimator
{
    private const int MarksASecondKept = 60;     // more are grouped: neighbours say the same

    /// <summary>Estimates a run.</summary>
    /// <param name="marks">All its marks, at least four.</param>
    /// <param name="marksPerTurn">Marks on the body.</param>
    /// <param name="gridS">Step of the grid, seconds.</param>
    public static SpinEstimate Estimate(MarkSeries marks, int marksPerTurn, double gridS)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(marks.Count, 4);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(gridS);
        IReadOnlyList<(double FromS, double ToS)> gaps = Gaps(marks);
        (double releaseS, double uReleaseS) = Release.Find(marks, marksPerTurn);
        var pieces = Pieces(marks, gaps, releaseS, marksPerTurn).ToList();

        var speed = new List<SpeedPoint>();
        double endS = marks.TimeS[^1];
        var windows = new List<(double, double)>();
        for (int i = 0; i * gridS <= endS; i++)
        {
            LocalFit? fit = At(pieces, i * gridS, afterEdge: true);
            speed.Add(Point(i * gridS, fit));
            windows.Add(fit?.Window ?? (double.NaN, double.NaN));
        }

        LocalFit peak = At(pieces, releaseS, afterEdge: true) ?? Fallback(marks, releaseS);
        LocalFit last = At(pieces, endS, afterEdge: false) ?? Fallback(marks, endS);
        double lastSpeed = Math.Max(last.Speed, 1e-3);

        // The peak is the free law at the release: as unsure as the moment is, times how fast the speed falls.
        double byRelease = peak.Acceleration * uReleaseS;

        // The next mark would have come a spacing later and did not: the end lies anywhere between. A wobble moves both.
        double spacingS = Math.Min(1 / (lastSpeed * marksPerTurn), marks.TimeS[^1] - marks.TimeS[0]);
        double missed = MissedOfLate(marks, marksPerTurn);
        Wobble? wobble = WobbleOf(pieces);
        double byWobble = wobble is { Sizes.Count: > 0 } ? wobble.Sizes[^1].AmplitudeTurns / Math.Sqrt(2) / lastSpeed : 0;
        double uStopS = StopInterval.U(spacingS / 2, byWobble, missed);
        return new SpinEstimate(
            speed, releaseS, uReleaseS, peak.Speed * 60, 60 * double.Hypot(peak.USpeed, byRelease), endS + (spacingS / 2), uStopS,
            last.Speed * 60, gaps, StopInterval.U(spacingS / 2, double.Hypot(uReleaseS, byWobble), missed), wobble, windows);
    }

    // Share of the marks missed among the last few hundred.
    private static double MissedOfLate(MarkSeries marks, int marksPerTurn)
    {
        int from = Math.Max(0, marks.Count - 300);
        double passed = ((marks.Turns[^1] - marks.Turns[from]) * marksPerTurn) + 1;
        return Math.Clamp(1 - ((marks.Count - from) / passed), 0, 0.5);
    }

    // On the border of two pieces the later one where asked for.
    private static LocalFit? At(List<DecayPiece> pieces, double atS, bool afterEdge)
    {
        DecayPiece? found = null;
        foreach (DecayPiece piece in pieces)
        {
            if (atS >= piece.Span.FromS - 1e-9 && atS <= piece.Span.ToS + 1e-9 && (found is null || afterEdge))
                found = piece;
        }

        return found is null || found.Count < 5 ? null : found.At(atS);
    }

    // The constant is the body's: pieces before and after a gap say the same, each as surely as it can.
    private static Wobble? WobbleOf(List<DecayPiece> pieces)
    {
        var seen = pieces.Select(p => p.Wobble).OfType<WobbleFound>().Where(w => w.U > 0).ToList();
        if (seen.Count == 0)
            return null;
        double sum = seen.Sum(w => 1 / (w.U * w.U));
        return new Wobble(seen.Sum(w => w.Constant / (w.U * w.U)) / sum, 1 / Math.Sqrt(sum), [.. seen.SelectMany(w => w.Sizes)]);
    }

    private static SpeedPoint Point(double timeS, LocalFit? fit) => fit is { } f
        ? new SpeedPoint(timeS, f.Speed * 60, f.USpeed * 60, -f.Acceleration * 60, f.UAcceleration * 60)
        : new SpeedPoint(timeS, double.NaN, double.NaN, double.NaN, double.NaN);

    private static LocalFit Fallback(MarkSeries marks, double atS)
    {
        int at = Math.Clamp(marks.FirstAtOrAfter(atS), 1, marks.Count - 1);
        double speed = (marks.Turns[at] - marks.Turns[at - 1]) / (marks.TimeS[at] - marks.TimeS[at - 1]);
        return new LocalFit(speed, speed / 4, 0, speed * speed, 0, 2);
    }

    // A gap is where more than a second and four turns pass without a mark.
    private static List<(double FromS, double ToS)> Gaps(MarkSeries marks)
    {
        var gaps = new List<(double, double)>();
        for (int i = 1; i < marks.Count; i++)
        {
            if (marks.TimeS[i] - marks.TimeS[i - 1] > 1 && marks.Turns[i] - marks.Turns[i - 1] > 4)
                gaps.Add((marks.TimeS[i - 1], marks.TimeS[i]));
        }

        return gaps;
    }

    // Windows never reach across the release or a gap: the law is another there, or the count of turns is not sure.
    private static IEnumerable<DecayPiece> Pieces(
        MarkSeries marks, IReadOnlyList<(double FromS, double ToS)> gaps, double releaseS, int marksPerTurn)
    {
        var edges = new List<double> { releaseS };
        edges.AddRange(gaps.Select(g => g.ToS));
        edges.Sort();
        edges.Add(double.PositiveInfinity);
        (int from, double begin) = (0, marks.TimeS[0]);
        foreach (double edge in edges)
        {
            int to = marks.FirstAtOrAfter(edge);
            if (to > from)
            {
                // The mark of the release belongs to both sides.
                int last = edge == releaseS && to < marks.Count ? to + 1 : to;
                MarkSeries piece = Thinned(new MarkSeries(marks.TimeS[from..last], marks.Turns[from..last]), marksPerTurn);
                yield return edge <= releaseS ? DecayPiece.Plain(piece) : DecayPiece.Free(piece, begin);
            }

            (from, begin) = (to, edge);
        }
    }

    // Groups of whole turns, so that where marks sit does not matter.
    private static MarkSeries Thinned(MarkSeries piece, int marksPerTurn)
    {
        double span = piece.TimeS[^1] - piece.TimeS[0];
        if (span < 2 * DecayPiece.LongestHalfS || piece.Count < 2 * MarksASecondKept * span)
            return piece;
        int size = (int)(piece.Count / span / MarksASecondKept);
        return piece.Grouped((size + marksPerTurn - 1) / marksPerTurn * marksPerTurn);
    }
}
