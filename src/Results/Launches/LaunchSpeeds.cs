using Acquire.Motion;
using Acquire.Recording;
using Acquire.Results.Statistics;

namespace Acquire.Results.Launches;

/// <summary>A speed of a launch, the mean over a turn or a row.</summary>
/// <param name="TimeS">The middle of it, seconds since the first pulse of the run.</param>
/// <param name="Rpm">Turns a minute.</param>
public readonly record struct LaunchSpeed(double TimeS, double Rpm);

/// <summary>The speeds of a launch and how well each is known.</summary>
/// <param name="Speeds">In order of time.</param>
/// <param name="JitterS">Standard deviation of the moment at which a mark is seen; 0 where it cannot be told, NaN where there are no marks.</param>
/// <param name="URpm">Standard uncertainty of a speed where there are no marks; else 0.</param>
/// <param name="Turns">Turns from the first mark to the release; NaN where there are no marks.</param>
public sealed record LaunchSpeeds(IReadOnlyList<LaunchSpeed> Speeds, double JitterS, double URpm, double Turns)
{
    private const int FreeTurns = 60;
    private const int FewestFreeTurns = 12;

    /// <summary>By the marks up to the release: one speed a turn, from one mark to the same mark again, so that unevenly spaced marks do no harm.</summary>
    public static LaunchSpeeds Of(RunPulses pulses, double releaseS)
    {
        ArgumentNullException.ThrowIfNull(pulses);
        short mark = pulses.Mark.Where((m, i) => m >= 0 && pulses.TimeS[i] <= releaseS).GroupBy(m => m).OrderByDescending(g => g.Count()).ThenBy(g => g.Key).Select(g => g.Key).FirstOrDefault();
        int[] same = [.. Enumerable.Range(0, pulses.Count).Where(i => pulses.Mark[i] == mark && double.IsFinite(pulses.Turns[i]))];
        var launch = new List<LaunchSpeed>();
        var free = new List<LaunchSpeed>();
        for (int i = 1; i < same.Length && free.Count < FreeTurns; i++)
        {
            (double fromS, double toS) = (pulses.TimeS[same[i - 1]], pulses.TimeS[same[i]]);
            double turns = pulses.Turns[same[i]] - pulses.Turns[same[i - 1]];
            if (!(toS > fromS) || !(turns > 0.5)) continue;
            var speed = new LaunchSpeed(0.5 * (fromS + toS), 60 * turns / (toS - fromS));
            if (toS <= releaseS) launch.Add(speed);
            else if (fromS > releaseS && turns < 1.5) free.Add(speed);
        }

        return new LaunchSpeeds(launch, Jitter(free), 0, TurnsAt(pulses, releaseS));
    }

    /// <summary>By the rows of a speed curve, for a run that has no marks.</summary>
    public static LaunchSpeeds Of(IReadOnlyList<SpeedPoint> speed, double releaseS)
    {
        ArgumentNullException.ThrowIfNull(speed);
        SpeedPoint[] rows = [.. speed.Where(p => p.TimeS <= releaseS && double.IsFinite(p.Rpm))];
        double u = rows.Select(p => p.URpm).Where(double.IsFinite).DefaultIfEmpty(0).Max();
        return new LaunchSpeeds([.. rows.Select(p => new LaunchSpeed(p.TimeS, p.Rpm))], double.NaN, u, double.NaN);
    }

    /// <summary>Standard uncertainty of a speed, rpm. A turn begins and ends at a mark, so that its time has the jitter of two.</summary>
    public double UAt(LaunchSpeed speed) => double.IsNaN(JitterS) ? URpm : Math.Sqrt(2) * JitterS * speed.Rpm * speed.Rpm / 60;

    /// <summary>Standard uncertainty of the difference of two neighbouring speeds, rpm. They share a mark, by whose jitter the one gains what the other loses.</summary>
    internal double UOfStep(LaunchSpeed a, LaunchSpeed b) => double.IsNaN(JitterS) ? Math.Sqrt(2) * URpm : Math.Sqrt(6) * JitterS * Math.Max(a.Rpm, b.Rpm) * Math.Max(a.Rpm, b.Rpm) / 60;

    // After the release neighbouring turns are all but alike: what they differ by is jitter, 1, −2 and 1 times that of three marks.
    private static double Jitter(List<LaunchSpeed> free)
    {
        if (free.Count < FewestFreeTurns) return 0;
        double[] steps = [.. free.Zip(free.Skip(1), (a, b) => 60 * (b.Rpm - a.Rpm) / (a.Rpm * b.Rpm))];
        return Robust.ScaledMad(steps) / Math.Sqrt(6);
    }

    private static double TurnsAt(RunPulses pulses, double timeS)
    {
        int first = -1;
        int before = -1;
        for (int i = 0; i < pulses.Count; i++)
        {
            if (pulses.Mark[i] < 0 || !double.IsFinite(pulses.Turns[i])) continue;
            if (first < 0) first = i;
            if (pulses.TimeS[i] > timeS)
            {
                if (before < 0) return double.NaN;
                double share = (timeS - pulses.TimeS[before]) / (pulses.TimeS[i] - pulses.TimeS[before]);
                return pulses.Turns[before] + (share * (pulses.Turns[i] - pulses.Turns[before])) - pulses.Turns[first];
            }

            before = i;
        }

        return before < 0 ? double.NaN : pulses.Turns[before] - pulses.Turns[first];
    }
}
