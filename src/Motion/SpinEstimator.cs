namespace Acquire.Motion;

/// <summary>The best estimate of a run's speed after it ended: the marks before and after each moment are used. A local quartic of
/// the turn angle is fitted over a window that is short beside the time in which the deceleration changes.</summary>
public static class SpinEstimator
{
    private const double LongestHalfWindowS = 40;
    private const double ShortestHalfWindowS = 0.15;
    private const double WindowShare = 0.08;     // of the time in which the speed would fall to 1/e: a quartic follows it to 1e-6
    private const int LeastMarks = 10;
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
        (double releaseS, double uReleaseS) = Release.Find(marks);
        var pieces = Pieces(marks, gaps, releaseS).ToList();
        var fitter = new WindowFitter(pieces, LeastMarks, LongestHalfWindowS, ShortestHalfWindowS, WindowShare);

        var speed = new List<SpeedPoint>();
        double endS = marks.TimeS[^1];
        for (int i = 0; i * gridS <= endS; i++)
            speed.Add(Point(i * gridS, fitter.At(i * gridS, afterEdge: true)));

        LocalFit peak = fitter.At(releaseS, afterEdge: true) ?? Fallback(marks, releaseS);
        LocalFit last = fitter.At(endS, afterEdge: false) ?? Fallback(marks, endS);
        double lastSpeed = Math.Max(last.Speed, 1e-3);

        // The peak is the free law at the release: as unsure as the moment is, times how fast the speed falls.
        double byRelease = peak.Acceleration * uReleaseS;

        // The next mark would have come a spacing later and did not: the end lies anywhere between.
        double spacingS = Math.Min(1 / (lastSpeed * marksPerTurn), marks.TimeS[^1] - marks.TimeS[0]);
        return new SpinEstimate(
            speed, releaseS, uReleaseS, peak.Speed * 60, 60 * Math.Sqrt((peak.USpeed * peak.USpeed) + (byRelease * byRelease)), endS + (spacingS / 2), spacingS / Math.Sqrt(12),
            last.Speed * 60, gaps);
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
    private static IEnumerable<MarkSeries> Pieces(MarkSeries marks, IReadOnlyList<(double FromS, double ToS)> gaps, double releaseS)
    {
        var edges = new List<double> { releaseS };
        edges.AddRange(gaps.Select(g => g.ToS));
        edges.Sort();
        edges.Add(double.PositiveInfinity);
        int from = 0;
        foreach (double edge in edges)
        {
            int to = marks.FirstAtOrAfter(edge);
            if (to > from)
            {
                // The mark of the release belongs to both sides.
                int last = edge == releaseS && to < marks.Count ? to + 1 : to;
                yield return Thinned(new MarkSeries(marks.TimeS[from..last], marks.Turns[from..last]));
            }

            from = to;
        }
    }

    private static MarkSeries Thinned(MarkSeries piece)
    {
        double span = piece.TimeS[^1] - piece.TimeS[0];
        return span < 2 * LongestHalfWindowS ? piece : piece.Grouped((int)(piece.Count / span / MarksASecondKept));
    }
}
