namespace Acquire.Acquisition.Clock;

/// <summary>The rate from lines that came by themselves: a robust line through the earliest of each group of as many.</summary>
/// <remarks>The earliest of equally many delays has the same distribution in every group, whatever that is, so that its mean bends the
/// offset and not the slope, and the scatter about the line says how well the slope is known.</remarks>
internal static class EnvelopeFit
{
    private const int FirstLookSamples = 384;

    internal static RateFit? Of(IReadOnlyList<ClockSample> samples, int leastSamples, double leastWindowS)
    {
        double windowS = RateFit.Window(samples);
        if (samples.Count < leastSamples || windowS < leastWindowS)
            return null;
        SegmentedLine first = FirstLook(samples);
        double slope = first.Slope;
        int size = Math.Max(1, samples.Count / RateFit.Groups);
        ClockSample[] groups = [];
        SegmentedLine? line = null;
        for (int round = 0; round < 2; round++)
        {
            groups = Earliest(samples, size, slope, first);
            if (groups.Length < 6)
                return null;
            line = SegmentedLine.Trimmed(groups);
            slope = line.Slope;
        }

        return line is null || line.DegreesOfFreedom < 3 ? null : RateFit.Judge(line, line.SlopeError, groups, windowS, samples[^1]);
    }

    /// <summary>The slope of the line of least absolute deviations through some of the samples; <paramref name="otherwise"/> where they
    /// do not tell.</summary>
    internal static double FirstSlope(IReadOnlyList<ClockSample> samples, double otherwise)
    {
        double slope = FirstLook(samples).Slope;
        return double.IsFinite(slope) ? slope : otherwise;
    }

    private static SegmentedLine FirstLook(IReadOnlyList<ClockSample> samples)
    {
        int step = Math.Max(1, samples.Count / FirstLookSamples);
        var some = new List<ClockSample>(FirstLookSamples + 2);
        for (int i = 0; i < samples.Count; i += step)
            some.Add(samples[i]);
        return SegmentedLine.LeastAbsolute([.. some]);
    }

    private static ClockSample[] Earliest(IReadOnlyList<ClockSample> samples, int size, double slope, SegmentedLine first)
    {
        var groups = new List<ClockSample>(RateFit.Groups * 2);
        double floorS = first.MedianResidualS - Math.Max(10 * first.ScaleS, 1e-6);
        int count = 0;
        double bestS = 0;
        ClockSample best = default;
        for (int i = 0; i < samples.Count; i++)
        {
            ClockSample sample = samples[i];
            if (count > 0 && sample.Segment != best.Segment)
                count = 0; // the rest of a segment that is no whole group
            if (first.Knows(sample.Segment) && sample.HostS - first.HostS(sample.Segment, sample.BoardS) < floorS)
                continue; // earlier than it can have been: the host's clock was set, or the number is wrong
            double at = sample.HostS - (slope * sample.BoardS);
            if (count == 0 || at < bestS)
            {
                best = sample;
                bestS = at;
            }

            if (++count < size)
                continue;
            groups.Add(best);
            count = 0;
        }

        return [.. groups];
    }
}
