namespace Acquire.Results.Launches;

/// <summary>How a body was brought up to speed.</summary>
/// <param name="Speeds">Its speeds up to the release.</param>
/// <param name="PeakRpm">The speed at the release.</param>
/// <param name="UPeakRpm">Its standard uncertainty.</param>
/// <param name="TimeS">From the first mark to the release.</param>
/// <param name="UTimeS">Its standard uncertainty as far as it comes from the release; NaN where it is not known.</param>
public sealed record Launch(LaunchSpeeds Speeds, double PeakRpm, double UPeakRpm, double TimeS, double UTimeS)
{
    private const double RadPerSPerRpm = Math.PI / 30;
    private const int FewestSpeeds = 3;
    private const double WindowS = 0.1;

    /// <summary>Stretches in which the body was driven, parted by such in which it was not; null where there are too few speeds to tell.</summary>
    public int? Pushes { get; private init; }

    /// <summary>Mean angular acceleration from the first speed to the peak, rad/s²; NaN where there are too few speeds.</summary>
    public double MeanRadPerS2 { get; private init; } = double.NaN;

    /// <summary>Its standard uncertainty, rad/s².</summary>
    public double UMeanRadPerS2 { get; private init; } = double.NaN;

    /// <summary>The greatest mean over 0.1 s or two turns, whichever is longer, rad/s²; NaN where there are too few speeds.</summary>
    public double GreatestRadPerS2 { get; private init; } = double.NaN;

    /// <summary>Its standard uncertainty, rad/s².</summary>
    public double UGreatestRadPerS2 { get; private init; } = double.NaN;

    /// <summary>Works it out.</summary>
    /// <param name="speeds">Speeds up to the release.</param>
    /// <param name="peakRpm">The speed at the release.</param>
    /// <param name="uPeakRpm">Its standard uncertainty.</param>
    /// <param name="beganS">When the launch began, seconds since the first pulse.</param>
    /// <param name="releaseS">When the speed peaked.</param>
    /// <param name="uReleaseS">Its standard uncertainty; NaN where it is not known.</param>
    public static Launch Of(LaunchSpeeds speeds, double peakRpm, double uPeakRpm, double beganS, double releaseS, double uReleaseS)
    {
        ArgumentNullException.ThrowIfNull(speeds);
        var launch = new Launch(speeds, peakRpm, uPeakRpm, releaseS - beganS, uReleaseS);
        IReadOnlyList<LaunchSpeed> all = speeds.Speeds;
        if (all.Count < FewestSpeeds) return launch;
        double meanTimeS = releaseS - all[0].TimeS;
        (double greatest, double uGreatest) = Greatest(speeds);
        double uMean = double.Hypot(uPeakRpm, speeds.UAt(all[0])) / meanTimeS;
        double mean = (peakRpm - all[0].Rpm) / meanTimeS;
        if (double.IsFinite(uReleaseS)) uMean = double.Hypot(uMean, mean * uReleaseS / meanTimeS);
        return launch with
        {
            Pushes = Count(speeds, greatest),
            MeanRadPerS2 = mean * RadPerSPerRpm,
            UMeanRadPerS2 = uMean * RadPerSPerRpm,
            GreatestRadPerS2 = greatest * RadPerSPerRpm,
            UGreatestRadPerS2 = uGreatest * RadPerSPerRpm,
        };
    }

    // Over a stretch of so long that jitter does not make the greatest of many.
    private static (double RpmPerS, double U) Greatest(LaunchSpeeds speeds)
    {
        IReadOnlyList<LaunchSpeed> all = speeds.Speeds;
        (double greatest, double u) = (double.NegativeInfinity, double.NaN);
        for (int i = 0; i + 2 < all.Count; i++)
        {
            int j = i + 2;
            while (j + 1 < all.Count && all[j].TimeS - all[i].TimeS < WindowS) j++;
            double timeS = all[j].TimeS - all[i].TimeS;
            double rise = (all[j].Rpm - all[i].Rpm) / timeS;
            if (rise > greatest) (greatest, u) = (rise, double.Hypot(speeds.UAt(all[i]), speeds.UAt(all[j])) / timeS);
        }

        return (greatest, u);
    }

    // A push begins where the body surely gains more than a tenth of the greatest over some turns, and ends where it surely gains less over some:
    // what one turn leaves open several together may tell. Turns before the last change do not count.
    private static int Count(LaunchSpeeds speeds, double greatestRpmPerS)
    {
        (int pushes, bool driven, int since) = (0, false, 0);
        for (int i = 1; i < speeds.Speeds.Count; i++)
        {
            bool changes = false;
            for (int from = i - 1; from >= since && !changes; from--) changes = IsSure(speeds, from, i, greatestRpmPerS, more: !driven);
            if (!changes) continue;
            driven = !driven;
            if (driven) pushes++;
            since = i;
        }

        return pushes;
    }

    private static bool IsSure(LaunchSpeeds speeds, int from, int to, double greatestRpmPerS, bool more)
    {
        const double Share = 0.1;
        const double Sure = 3;
        (LaunchSpeed a, LaunchSpeed b) = (speeds.Speeds[from], speeds.Speeds[to]);
        double beyond = b.Rpm - a.Rpm - (Share * greatestRpmPerS * (b.TimeS - a.TimeS));
        double u = to - from == 1 ? speeds.UOfStep(a, b) : double.Hypot(speeds.UAt(a), speeds.UAt(b));
        return more ? beyond > Sure * u : beyond < -Sure * u;
    }
}
