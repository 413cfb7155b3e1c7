namespace Acquire.Acquisition.Clock;

/// <summary>A fitted rate with what is needed to place a moment and to join it with another.</summary>
/// <param name="Line">The line.</param>
/// <param name="Slope">Host seconds in a nominal second of the board.</param>
/// <param name="USlope">Standard uncertainty of the slope.</param>
/// <param name="WindowS">Time spanned, s.</param>
/// <param name="LineHolds">Whether the samples scatter about the line as chance has it.</param>
/// <param name="Last">The last sample.</param>
internal readonly record struct RateFit(SegmentedLine Line, double Slope, double USlope, double WindowS, bool LineHolds, ClockSample Last)
{
    internal const int Groups = 48;

    /// <summary>Uncertainty of the rate, ppm; never less than one tick's resolution over the window allows.</summary>
    internal double UPpm(double tickHz)
    {
        double resolution = 1 / (tickHz * Math.Sqrt(12) * WindowS);
        return 1e6 * Math.Sqrt((USlope * USlope) + (resolution * resolution)) / (Slope * Slope);
    }

    /// <summary>The mean weighted by the inverse variances.</summary>
    internal RateFit JoinedWith(in RateFit other)
    {
        double mine = 1 / (USlope * USlope);
        double theirs = 1 / (other.USlope * other.USlope);
        return this with
        {
            Slope = ((Slope * mine) + (other.Slope * theirs)) / (mine + theirs),
            USlope = 1 / Math.Sqrt(mine + theirs),
            WindowS = Math.Max(WindowS, other.WindowS),
            LineHolds = LineHolds && other.LineHolds,
        };
    }

    internal double LastBoardS(int segment) => Last.Segment == segment && Line.Knows(segment) ? Last.BoardS : 0;

    internal double HostS(int segment, double boardS) => Line.Knows(segment) ? Line.HostS(segment, boardS) : boardS * Slope;

    /// <summary>Time that samples span, the gaps between segments not counted.</summary>
    internal static double Window(IReadOnlyList<ClockSample> samples)
    {
        double window = 0;
        int start = 0;
        for (int i = 1; i <= samples.Count; i++)
        {
            if (i < samples.Count && samples[i].Segment == samples[start].Segment)
                continue;
            window += samples[i - 1].BoardS - samples[start].BoardS;
            start = i;
        }

        return window;
    }

    /// <summary>Judges a line: its uncertainty with Student's t, and with correlation and drift where it does not hold.</summary>
    internal static RateFit Judge(SegmentedLine line, double error, ClockSample[] groups, double windowS, in ClockSample last)
    {
        bool holds = !ClockStatistics.HasTooFewRuns(line.Residuals, line.Weights, line.MedianResidualS);
        if (!holds)
        {
            error = Math.Max(error, line.SlopeErrorCorrelated(groups.Length / 4));
            double drift = Drift(groups);
            error = Math.Sqrt((error * error) + (drift * drift / 3));
        }

        return new RateFit(line, line.Slope, error * ClockStatistics.Stretch(line.DegreesOfFreedom), windowS, holds, last);
    }

    /// <summary>Half the difference between the slopes of the two halves.</summary>
    private static double Drift(ClockSample[] groups)
    {
        int half = groups.Length / 2;
        double first = SegmentedLine.Trimmed(groups[..half]).Slope;
        double second = SegmentedLine.Trimmed(groups[half..]).Slope;
        return double.IsFinite(first) && double.IsFinite(second) ? Math.Abs(second - first) / 2 : 0;
    }
}
