using Acquire.Motion;

namespace Acquire.Results;

/// <summary>The time that a spin took from one speed down to another.</summary>
/// <param name="FromS">When the higher speed was passed, seconds since the first pulse.</param>
/// <param name="ToS">When the lower speed was passed.</param>
/// <param name="Seconds">The decay time.</param>
/// <param name="USeconds">Its standard uncertainty: of the two speeds by their decelerations, and of the clock.</param>
/// <remarks>A clock whose seconds are too long by a share δ makes both speeds seem too high by it, so that each is passed later by δ times
/// ω/|ω̇|: the two shifts and the longer seconds partly cancel, wholly where ω̇ ∝ ω². Two speeds out of the same marks err alike: their
/// difference is then as unsure as the deceleration makes it, and no more.</remarks>
public sealed record DecayTime(double FromS, double ToS, double Seconds, double USeconds)
{
    /// <summary>Finds it; null where the run does not pass both speeds while it slows, or the signal was lost at one of them.</summary>
    /// <param name="speed">The speed curve.</param>
    /// <param name="releaseS">When the hand let go: what comes before does not count.</param>
    /// <param name="fromRpm">The higher speed.</param>
    /// <param name="toRpm">The lower speed.</param>
    /// <param name="uRatePpm">Standard uncertainty of the clock's rate, parts in a million, as it is in the speed curve's own
    /// uncertainties; 0 where they have none.</param>
    public static DecayTime? Between(
        IReadOnlyList<SpeedPoint> speed, double releaseS, double fromRpm, double toRpm, double uRatePpm)
    {
        ArgumentOutOfRangeException.ThrowIfLessThanOrEqual(fromRpm, toRpm);
        if (Passing(speed, releaseS, fromRpm) is not { } from || Passing(speed, releaseS, toRpm) is not { } to)
            return null;
        double seconds = to.TimeS - from.TimeS;
        double clock = uRatePpm * 1e-6;
        double byClock = clock * (seconds + (fromRpm / from.Fall) - (toRpm / to.Fall));
        (double first, double second) = (from.UTime(fromRpm * clock), to.UTime(toRpm * clock));
        double apart = (first * first) + (second * second);
        double together = seconds * Math.Max(from.UFallShare(clock), to.UFallShare(clock));
        return new DecayTime(from.TimeS, to.TimeS, seconds, Math.Sqrt(Math.Min(apart, together * together) + (byClock * byClock)));
    }

    // What is stated of speed and deceleration has the clock's share in it, which is not the marks' own.
    private readonly record struct Pass(double TimeS, double URpm, double Fall, double UFall)
    {
        public double UTime(double byClock) => Math.Sqrt(Math.Max(0, (URpm * URpm) - (byClock * byClock))) / Fall;

        public double UFallShare(double clock) => Math.Sqrt(Math.Max(0, (UFall * UFall / (Fall * Fall)) - (4 * clock * clock)));
    }

    // Between two points of the grid the speed follows the cubic that meets both speeds and both decelerations.
    private static Pass? Passing(IReadOnlyList<SpeedPoint> speed, double releaseS, double rpm)
    {
        for (int i = 1; i < speed.Count; i++)
        {
            SpeedPoint a = speed[i - 1];
            SpeedPoint b = speed[i];
            if (a.TimeS < releaseS || !(a.Rpm >= rpm && b.Rpm < rpm))
                continue;
            double share = Share(a, b, rpm);
            double step = b.TimeS - a.TimeS;
            double u = a.URpm + (share * (b.URpm - a.URpm));
            double fall = a.DecelRpmPerS + (share * (b.DecelRpmPerS - a.DecelRpmPerS));
            double uFall = a.UDecelRpmPerS + (share * (b.UDecelRpmPerS - a.UDecelRpmPerS));
            return new Pass(a.TimeS + (share * step), u, Math.Max(fall, (a.Rpm - b.Rpm) / step * 0.1), uFall);
        }

        return null;
    }

    private static double Share(SpeedPoint a, SpeedPoint b, double rpm)
    {
        double step = b.TimeS - a.TimeS;
        (double low, double high) = (0, 1);
        for (int i = 0; i < 60; i++)
        {
            double s = 0.5 * (low + high);
            double hermite = (a.Rpm * (1 + (2 * s)) * (1 - s) * (1 - s)) - (step * a.DecelRpmPerS * s * (1 - s) * (1 - s))
                + (b.Rpm * s * s * (3 - (2 * s))) + (step * b.DecelRpmPerS * s * s * (1 - s));
            if (hermite >= rpm)
                low = s;
            else
                high = s;
        }

        return 0.5 * (low + high);
    }
}
