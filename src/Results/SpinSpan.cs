using Acquire.Motion;

namespace Acquire.Results;

/// <summary>Why a decay time between two speeds cannot be told, and between which it can.</summary>
/// <param name="HighestRpm">The highest speed after the release.</param>
/// <param name="LowestRpm">The lowest.</param>
/// <param name="Gaps">Where the signal was lost: the time and the speeds about it.</param>
public sealed record SpinSpan(double HighestRpm, double LowestRpm, IReadOnlyList<SpinGap> Gaps)
{
    /// <summary>Looks at a speed curve.</summary>
    /// <param name="speed">The curve.</param>
    /// <param name="releaseS">When the hand let go.</param>
    /// <returns>Null where no speed is known after the release.</returns>
    public static SpinSpan? Of(IReadOnlyList<SpeedPoint> speed, double releaseS)
    {
        ArgumentNullException.ThrowIfNull(speed);
        SpeedPoint[] free = [.. speed.Where(p => p.TimeS >= releaseS)];
        SpeedPoint[] known = [.. free.Where(p => double.IsFinite(p.Rpm))];
        if (known.Length < 2)
            return null;
        var gaps = new List<SpinGap>();
        SpeedPoint? before = null;
        bool lost = false;
        foreach (SpeedPoint p in free)
        {
            if (!double.IsFinite(p.Rpm))
            {
                lost = before is not null;
                continue;
            }

            if (lost)
                gaps.Add(new SpinGap(before!.Value.TimeS, p.TimeS, before.Value.Rpm, p.Rpm));
            (before, lost) = (p, false);
        }

        return new SpinSpan(known.Max(p => p.Rpm), known.Min(p => p.Rpm), gaps);
    }

    /// <summary>The gaps that lie between two speeds in part or whole.</summary>
    public IReadOnlyList<SpinGap> Between(double fromRpm, double toRpm) => [.. Gaps.Where(g => g.ToRpm < fromRpm && g.FromRpm > toRpm)];

    /// <summary>The largest interval of speed, by the ratio of its ends, within two speeds that no gap touches and the spin passed.</summary>
    /// <returns>Null where there is none.</returns>
    public SpeedBand? Whole(double fromRpm, double toRpm)
    {
        double[] falls = [Math.Min(fromRpm, HighestRpm), .. Gaps.SelectMany(g => new[] { g.FromRpm, g.ToRpm }), Math.Max(toRpm, LowestRpm)];
        SpeedBand[] between = [.. falls.Chunk(2).Select(c => new SpeedBand(Math.Min(c[0], fromRpm), Math.Max(c[1], toRpm))).Where(b => b.FromRpm > b.ToRpm && b.ToRpm > 0)];
        return between.Length == 0 ? null : between.MaxBy(b => b.FromRpm / b.ToRpm);
    }
}

/// <summary>A stretch of a spin in which the signal was lost.</summary>
/// <param name="FromS">The last moment before it.</param>
/// <param name="ToS">The first after it.</param>
/// <param name="FromRpm">The speed before it.</param>
/// <param name="ToRpm">The speed after it.</param>
public readonly record struct SpinGap(double FromS, double ToS, double FromRpm, double ToRpm);
