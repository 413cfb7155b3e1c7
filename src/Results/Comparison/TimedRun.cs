using Acquire.Motion;

namespace Acquire.Results.Comparison;

/// <summary>A run as comparisons and sweeps need it.</summary>
/// <param name="Name">Its name.</param>
/// <param name="StartedAt">When it began.</param>
/// <param name="Setup">What it was spun with, by key; runs with the same values of all keys are repeats of each other.</param>
/// <param name="Speed">Its speed curve.</param>
/// <param name="ReleaseS">When the hand let go, seconds since the first pulse.</param>
/// <param name="UClockPpm">Standard uncertainty of the clock's rate, parts in a million, as it is in the speed curve.</param>
public sealed record TimedRun(
    string Name, DateTimeOffset StartedAt, IReadOnlyDictionary<string, string> Setup, IReadOnlyList<SpeedPoint> Speed, double ReleaseS, double UClockPpm)
{
    /// <summary>Mean temperature of the air, °C; NaN where it was not measured.</summary>
    public double TemperatureC { get; init; } = double.NaN;

    /// <summary>How the run would have gone in reference air; null where the air or the run's loss law is not known.</summary>
    public AirCorrection? Air { get; init; }

    /// <summary>The fastest that it was seen after the release, turns a minute; 0 where it was not seen.</summary>
    public double FastestRpm => Seen().DefaultIfEmpty(0).Max();

    /// <summary>The last speed that was seen, turns a minute; infinite where none was.</summary>
    public double LastRpm => Seen().DefaultIfEmpty(double.PositiveInfinity).Last();

    /// <summary>All values of its set-up as one text.</summary>
    public string SetupText => string.Join('\n', Setup.Where(s => s.Value.Length > 0).OrderBy(s => s.Key, StringComparer.Ordinal).Select(s => s.Key + "=" + s.Value));

    /// <summary>The logarithm of its decay time between two speeds; not known where it did not pass both while it was seen.</summary>
    public LogTime Time(double fromRpm, double toRpm)
    {
        if (DecayTime.Between(Speed, ReleaseS, fromRpm, toRpm, UClockPpm) is not { Seconds: > 0 } decay)
            return LogTime.Unknown;
        double change = Air?.LogRatio(fromRpm, toRpm) ?? 0;

        // A limit either way as an even spread (JCGM 100:2008, 4.3.7).
        double uAir = (Air?.HumidityLimit(fromRpm, toRpm) ?? 0) / Math.Sqrt(3);
        return new LogTime(Math.Log(decay.Seconds) + change, double.Hypot(decay.USeconds / decay.Seconds, uAir));
    }

    /// <summary>Why it has no decay time between two speeds, for people; null where it has one.</summary>
    public string? WhyNot(double fromRpm, double toRpm)
    {
        if (Time(fromRpm, toRpm).IsKnown)
            return null;
        if (FastestRpm < fromRpm)
            return FormattableString.Invariant($"it began at {FastestRpm:F0} rpm, below {fromRpm:0.#}");
        if (LastRpm > toRpm)
            return FormattableString.Invariant($"it was last seen at {LastRpm:F0} rpm, above {toRpm:0.#}");
        return FormattableString.Invariant($"the signal was lost when it passed {(Passes(fromRpm) ? toRpm : fromRpm):0.#} rpm");
    }

    /// <summary>For how long the signal was lost between two speeds, seconds. The clock went on, so that the whole time stands.</summary>
    public double LostS(double fromRpm, double toRpm)
    {
        if (DecayTime.Between(Speed, ReleaseS, fromRpm, toRpm, UClockPpm) is not { } decay)
            return 0;
        SpeedPoint[] within = [.. Speed.Where(p => p.TimeS >= decay.FromS && p.TimeS <= decay.ToS)];
        double grid = within.Length > 1 ? (within[^1].TimeS - within[0].TimeS) / (within.Length - 1) : 0;
        return within.Count(p => double.IsNaN(p.Rpm)) * grid;
    }

    private bool Passes(double rpm) => Enumerable.Range(1, Math.Max(0, Speed.Count - 1))
        .Any(i => Speed[i - 1].TimeS >= ReleaseS && Speed[i - 1].Rpm >= rpm && Speed[i].Rpm < rpm);

    private IEnumerable<double> Seen() => Speed.Where(p => p.TimeS >= ReleaseS && double.IsFinite(p.Rpm)).Select(p => p.Rpm);
}

/// <summary>The natural logarithm of a time in seconds: what is so many percent longer lies so much higher, whatever the time.</summary>
/// <param name="Value">The logarithm; NaN where the time is not known.</param>
/// <param name="U">Its standard uncertainty of measurement, which is that of the time as a share of it.</param>
public readonly record struct LogTime(double Value, double U)
{
    /// <summary>No time.</summary>
    public static readonly LogTime Unknown = new(double.NaN, double.NaN);

    /// <summary>Whether there is one.</summary>
    public bool IsKnown => double.IsFinite(Value);

    /// <summary>A difference of logarithms as a change in percent.</summary>
    public static double Percent(double difference) => 100 * (Math.Exp(difference) - 1);
}
