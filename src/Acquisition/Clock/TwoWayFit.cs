namespace Acquire.Acquisition.Clock;

/// <summary>The rate from questions and answers: the middle between asking and answer over the board's time, for the samples of each
/// group that had the least delay, weighed down by their delay, the share of the delay that lies on one side fitted too.</summary>
internal static class TwoWayFit
{
    private const int LeastForDelayShare = 16;

    internal static RateFit? Of(IReadOnlyList<ClockSample> samples, int leastSamples, double leastWindowS)
    {
        double windowS = RateFit.Window(samples);
        if (samples.Count < leastSamples || windowS < leastWindowS)
            return null;
        ClockSample[] groups = Quickest(samples, Math.Max(1, samples.Count / RateFit.Groups));
        if (groups.Length < 6)
            return null;
        SegmentedLine line = SegmentedLine.Trimmed(groups, Weights(groups), groups.Length >= LeastForDelayShare);
        if (line.DegreesOfFreedom < 3)
            return null;

        // How the scatter grows with the delay is only guessed at by the weights: take it from the residuals.
        double error = line.SlopeErrorCorrelated(0) * Math.Sqrt(groups.Length / (double)line.DegreesOfFreedom);
        return RateFit.Judge(line, error, groups, windowS, samples[^1]);
    }

    /// <summary>The mean of the quickest fifth of each group, at least one.</summary>
    private static ClockSample[] Quickest(IReadOnlyList<ClockSample> samples, int size)
    {
        var groups = new List<ClockSample>(RateFit.Groups * 2);
        var group = new List<ClockSample>(size);
        foreach (ClockSample sample in samples)
        {
            if (group.Count > 0 && group[0].Segment != sample.Segment)
                group.Clear();
            group.Add(sample);
            if (group.Count < size)
                continue;
            group.Sort(static (a, b) => a.DelayS.CompareTo(b.DelayS));
            groups.Add(Mean(group, Math.Max(1, size / 5)));
            group.Clear();
        }

        return [.. groups];
    }

    private static ClockSample Mean(List<ClockSample> group, int count)
    {
        double board = 0;
        double host = 0;
        double delay = 0;
        for (int i = 0; i < count; i++)
        {
            board += group[i].BoardS;
            host += group[i].HostS;
            delay += group[i].DelayS;
        }

        return new ClockSample(board / count, host / count, delay / count, group[0].Segment);
    }

    /// <summary>A sample's error is at most half its delay beyond the least there is.</summary>
    private static double[] Weights(ClockSample[] groups)
    {
        double least = groups.Min(sample => sample.DelayS);
        var excess = new List<double>(groups.Length);
        foreach (ClockSample sample in groups)
            excess.Add(sample.DelayS - least);
        double usual = Math.Max(ClockStatistics.Median(excess), 1e-9);
        return [.. groups.Select(sample => 1 / (1 + Math.Pow((sample.DelayS - least) / usual, 2)))];
    }
}
