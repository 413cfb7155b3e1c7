using Acquire.Motion;
using Acquire.Recording;
using Acquire.Results.Comparison;

namespace Acquire.Service.Plans;

/// <summary>Whether a run that followed a plan counts for its row, as far as the capture can tell.</summary>
internal static class SpoiltRun
{
    /// <summary>Why it does not: it cannot be timed between the speeds that the plan names or, where it names none, it did not end by itself.</summary>
    /// <param name="plan">The plan's row; null where it followed none.</param>
    /// <param name="run">The run.</param>
    /// <param name="speed">Its speed curve.</param>
    /// <returns>For people; null where it counts, or followed no plan.</returns>
    public static string? Why(RunPlan? plan, RunDescriptor run, IReadOnlyList<SpeedPoint> speed) => plan switch
    {
        null => null,
        { FromRpm: { } from, ToRpm: { } to } => new TimedRun("", run.StartedAt, new Dictionary<string, string>(), speed, run.Result.ReleaseS, 0).WhyNot(from, to),
        _ => run.EndReason switch
        {
            EndReasons.Stopped => null,
            EndReasons.SignalLost => At(run, "the marks ceased"),
            EndReasons.SourceLost => At(run, "the sensor's link was lost"),
            EndReasons.Operator => At(run, "ended by the user"),
            _ => At(run, "the capture was cut short"),
        },
    };

    private static string At(RunDescriptor run, string what) => FormattableString.Invariant($"{what} at {run.Result.LastRpm:F0} rpm");
}
