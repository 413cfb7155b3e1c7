using Acquire.Results.Losses;
using Acquire.Results.Statistics;

namespace Acquire.Results.Best;

/// <summary>A time that a spin would have gained.</summary>
/// <param name="Seconds">The time, by its loss law; NaN where no law of powers follows the spin and only limits are known.</param>
/// <param name="LowS">Lower end of its 95 % interval, or what it is at the least.</param>
/// <param name="HighS">Upper end, or what it is at the most; infinite where that is not known.</param>
/// <param name="IsExtended">Whether the law had to be taken beyond the speeds that it was seen at.</param>
public sealed record GainedTime(double Seconds, double LowS, double HighS, bool IsExtended);

/// <summary>What the body lost its speed to in a band, each as a share of the deceleration at the band's middle, 0 to 1, with its standard
/// uncertainty; the spread between laws that explain the spin alike is in it.</summary>
/// <param name="Band">The band.</param>
/// <param name="TimeS">Time that the spin stayed in it, seconds; NaN where the signal was lost at one of its ends.</param>
/// <param name="Tip">Dry contact at the tip: what does not change with speed.</param>
/// <param name="Viscous">What grows as the speed: a lubricated contact, eddy currents, thick air.</param>
/// <param name="Air">What grows faster: boundary layers, drag and pumping.</param>
public sealed record BandLoss(SpeedBand Band, double TimeS, Estimate Tip, Estimate Viscous, Estimate Air)
{
    /// <summary>Beyond this half-width of its 95 % interval a share is not told.</summary>
    public const double WidestTold = 0.25;

    /// <summary>A share of which nothing is known.</summary>
    public static readonly Estimate Unknown = new(double.NaN, double.PositiveInfinity);

    /// <summary>Whether the spin tells a share at all.</summary>
    public static bool IsTold(Estimate share) => 1.96 * share.U <= WidestTold;
}

/// <summary>What limits a spin, as far as its loss law or, where no law of powers follows it, its speed curve tells.</summary>
public static class SpinLimits
{
    /// <summary>Where the long-run variance of what a law leaves is so many times that of neighbours, the spin does not follow it.</summary>
    public const double FollowedBelow = 30;

    private const double RadPerS = Math.PI / 30;
    private static readonly double[] OfAir = [.. LossLaw.Exponents.Where(p => p > 1)];

    /// <summary>Whether a spin follows its law, so that shares and times beyond what was seen can be told by it.</summary>
    public static bool IsFollowed(FittedLaw? law) => law is not null && law.Data.Colour <= FollowedBelow;

    /// <summary>The time from a faster start down to the spin's own that it did not have. Where it follows no law, no more than by its deceleration
    /// after the release, since a body loses no less at higher speed.</summary>
    /// <param name="course">The spin.</param>
    /// <param name="law">Its law; null where there is none.</param>
    /// <param name="fromRpm">The faster start.</param>
    /// <param name="toRpm">Its own.</param>
    public static GainedTime? ByStart(SpinCourse course, FittedLaw? law, double fromRpm, double toRpm)
    {
        const double Top = 0.97;    // of the peak: what is just after the release is known less well
        const double Bottom = 0.92;
        if (IsFollowed(law)) return Between(law!, fromRpm, toRpm);
        return MeanDecel(course, Top * toRpm, Bottom * toRpm) is { } decel ? new GainedTime(double.NaN, 0, (fromRpm - toRpm) / decel, false) : null;
    }

    /// <summary>The time from the spin's last speed down to a lower one that it did not have. Where it follows no law, no less than by its last
    /// deceleration.</summary>
    /// <param name="course">The spin.</param>
    /// <param name="law">Its law; null where there is none.</param>
    /// <param name="fromRpm">Its last speed.</param>
    /// <param name="toRpm">The lower speed, above 0.</param>
    public static GainedTime? ByFall(SpinCourse course, FittedLaw? law, double fromRpm, double toRpm)
    {
        const double Top = 1.2;     // of the last: what is just before the fall may be the fall itself
        const double Bottom = 1.05;
        if (IsFollowed(law)) return Between(law!, fromRpm, toRpm);
        return MeanDecel(course, Top * fromRpm, Bottom * fromRpm) is { } decel ? new GainedTime(double.NaN, (fromRpm - toRpm) / decel, double.PositiveInfinity, false) : null;
    }

    /// <summary>How long a spin stayed in each band and, where it follows a law, what it lost its speed to.</summary>
    /// <param name="course">The spin.</param>
    /// <param name="law">Its law; null where there is none.</param>
    /// <param name="bands">The bands, within the speeds that it was seen at.</param>
    public static IReadOnlyList<BandLoss> ByBand(SpinCourse course, FittedLaw? law, IReadOnlyList<SpeedBand> bands)
    {
        ArgumentNullException.ThrowIfNull(course);
        ArgumentNullException.ThrowIfNull(bands);
        bool followed = IsFollowed(law);
        Estimate Share(double[] exponents, SpeedBand band) => followed ? law!.Share(exponents, Math.Sqrt(band.FromRpm * band.ToRpm) * RadPerS) : BandLoss.Unknown;
        return [.. bands.Select(b => new BandLoss(b, Time(course, b.FromRpm, b.ToRpm)?.Seconds ?? double.NaN, Share([0], b), Share([1], b), Share(OfAir, b)))];
    }

    private static GainedTime Between(FittedLaw law, double fromRpm, double toRpm)
    {
        const double Within = 1.001;
        Estimate time = law.TimeBetween(fromRpm * RadPerS, toRpm * RadPerS);
        double half = time.U * Student.Quantile(0.975, Math.Max(1, law.Data.Freedom));
        bool extended = fromRpm * RadPerS > law.Data.FirstRadPerS * Within || toRpm * RadPerS < law.Data.LastRadPerS / Within;
        return new GainedTime(time.Value, Math.Max(0, time.Value - half), time.Value + half, extended);
    }

    private static double? MeanDecel(SpinCourse course, double fromRpm, double toRpm) => Time(course, fromRpm, toRpm) is { Seconds: > 0 } time ? (fromRpm - toRpm) / time.Seconds : null;

    private static DecayTime? Time(SpinCourse course, double fromRpm, double toRpm) => DecayTime.Between(course.Speed, course.ReleaseS, fromRpm, toRpm, course.URatePpm);
}
