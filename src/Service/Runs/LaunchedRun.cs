using Acquire.Motion;
using Acquire.Recording;
using Acquire.Results.Bodies;
using Acquire.Results.Launches;
using Acquire.Results.Losses;

namespace Acquire.Service.Runs;

/// <summary>A run's launch.</summary>
/// <param name="Run">The run.</param>
/// <param name="Group">What it is grouped by; empty where the run does not say.</param>
/// <param name="Launch">The launch.</param>
/// <param name="Rotor">The body; null where it is not known.</param>
internal sealed record LaunchedRun(RunData Run, string Group, Launch Launch, Rotor? Rotor)
{
    /// <summary>Mean torque that sped the body up; null where there is no body, NaN where the launch was seen too little.</summary>
    public Estimate? MeanTorqueNm => Torque(Launch.MeanRadPerS2, Launch.UMeanRadPerS2);

    /// <summary>The greatest torque, over 0.1 s or two turns.</summary>
    public Estimate? GreatestTorqueNm => Torque(Launch.GreatestRadPerS2, Launch.UGreatestRadPerS2);

    /// <summary>Works it out.</summary>
    /// <exception cref="RunFormatException">The pulses cannot be read.</exception>
    public static LaunchedRun Of(RunData run, string group, Rotor? rotor)
    {
        RunResult result = run.Descriptor.Result;
        LaunchSpeeds speeds = run.HasMarks ? LaunchSpeeds.Of(run.ReadPulses(), run.ReleaseS) : LaunchSpeeds.Of(run.Speed, run.ReleaseS);
        double began = run.Events.Where(e => e.Event == RunEventNames.Launch).Select(e => e.TimeS).DefaultIfEmpty(0).First();
        return new LaunchedRun(run, group, Launch.Of(speeds, result.PeakRpm, result.UPeakRpm, began, run.ReleaseS, run.Descriptor.Budget?.ReleaseS ?? double.NaN), rotor);
    }

    private Estimate? Torque(double radPerS2, double u) => Rotor is null ? null
        : new Estimate(Rotor.InertiaAxisKgM2 * radPerS2, double.Hypot(Rotor.InertiaAxisKgM2 * u, Rotor.UInertiaAxisKgM2 * radPerS2));
}
