using Acquire.Results.Comparison;
using Acquire.Results.Planning;
using Acquire.Results.Statistics;
using Acquire.Service.Runs;

namespace Acquire.Service.Plans;

/// <summary>How often each set-up is spun, and what that can show.</summary>
/// <param name="Repeats">How often.</param>
/// <param name="Scatter">How runs of one set-up scatter; null where it is not known.</param>
/// <param name="Library">The library's repeatability that it is from; null where an option gave it.</param>
/// <param name="Needed">What the difference that was asked for needs; null where the repeats were given.</param>
/// <param name="Level">Level of the test that is meant.</param>
/// <param name="Power">Probability of finding what is there.</param>
internal sealed record PlanRepeats(int Repeats, KnownScatter? Scatter, Repeatability? Library, RepeatsNeeded? Needed, double Level, double Power)
{
    /// <summary>The smallest difference between two set-ups that so many repeats most likely show, if runs scatter just so, percent; NaN where the
    /// scatter is not known or each is spun once.</summary>
    public double SmallestShownPercent => Scatter is { } s && Repeats > 1
        ? LogTime.Percent(WelchPower.SmallestShown(s.Sd, Repeats, Level, Power)) : double.NaN;

    /// <summary>How long a spin usually lasts, s: the median of the library's runs; NaN where it has none.</summary>
    public double UsualSpinS { get; init; } = double.NaN;

    /// <summary>The repeatability of runs between two speeds. They are brought to reference air only if all can be.</summary>
    public static Repeatability Of(IReadOnlyList<RunData> runs, SpeedRange range)
    {
        TimedRun[] timed = [.. runs.Select(TimedRuns.Of)];
        if (timed.Any(r => r.Air is null)) timed = [.. timed.Select(r => r with { Air = null })];
        return SetupScatter.Of(timed, range.FromRpm, range.ToRpm);
    }
}
