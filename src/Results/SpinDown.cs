using Acquire.Motion;
using Acquire.Results.Losses;

namespace Acquire.Results;

/// <summary>What is known of a run for its spin-down.</summary>
/// <param name="Speed">The speed curve.</param>
/// <param name="ReleaseS">When the hand let go, seconds since the first pulse.</param>
/// <param name="StopS">When the spin ended.</param>
/// <param name="URatePpm">Standard uncertainty of the clock's rate, parts in a million.</param>
public sealed record SpinCourse(IReadOnlyList<SpeedPoint> Speed, double ReleaseS, double StopS, double URatePpm)
{
    /// <summary>The part in which nothing but the loss acts on the body.</summary>
    public (double FromS, double ToS) FreePart => SpinMarks.FreePart(ReleaseS, StopS);
}

/// <summary>Time in a band of speed.</summary>
/// <param name="Band">The band.</param>
/// <param name="Time">The time; null where the signal was lost at one of its ends.</param>
public sealed record BandTime(SpeedBand Band, DecayTime? Time)
{
    /// <summary>Mean deceleration, rpm/s; NaN where the time is not known.</summary>
    public double DecelRpmPerS => Time is null ? double.NaN : (Band.FromRpm - Band.ToRpm) / Time.Seconds;

    /// <summary>Its standard uncertainty, rpm/s.</summary>
    public double UDecelRpmPerS => Time is null ? double.NaN : DecelRpmPerS * Time.USeconds / Time.Seconds;
}

/// <summary>How a run slowed from one speed to another.</summary>
/// <param name="Whole">The whole interval.</param>
/// <param name="Bands">Its bands.</param>
/// <param name="Gaps">Where the signal was lost within it.</param>
/// <param name="Law">The loss law of the free spin as a whole; null where none could be fitted.</param>
public sealed record SpinDown(BandTime Whole, IReadOnlyList<BandTime> Bands, IReadOnlyList<SpinGap> Gaps, FittedLaw? Law)
{
    /// <summary>Works it out.</summary>
    /// <param name="course">The run.</param>
    /// <param name="bands">The bands, from the highest speed down, each beginning where the one before ends.</param>
    /// <param name="law">The loss law, as it was fitted.</param>
    public static SpinDown Of(SpinCourse course, IReadOnlyList<SpeedBand> bands, FittedLaw? law)
    {
        ArgumentNullException.ThrowIfNull(course);
        ArgumentNullException.ThrowIfNull(bands);
        ArgumentOutOfRangeException.ThrowIfZero(bands.Count);
        BandTime Time(SpeedBand band) => new(band, DecayTime.Between(course.Speed, course.ReleaseS, band.FromRpm, band.ToRpm, course.URatePpm));
        (double from, double to) = (bands[0].FromRpm, bands[^1].ToRpm);
        IReadOnlyList<SpinGap> gaps = SpinSpan.Of(course.Speed, course.ReleaseS)?.Between(from, to) ?? [];
        return new SpinDown(Time(new SpeedBand(from, to)), [.. bands.Select(Time)], gaps, law);
    }
}
