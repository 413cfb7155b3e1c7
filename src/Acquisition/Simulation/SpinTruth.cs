namespace Acquire.Acquisition.Simulation;

/// <summary>What is true of one spin of a scenario; all times in s of the scenario.</summary>
public sealed class SpinTruth
{
    private readonly LossLaw _law;

    internal SpinTruth(
        SpinPlan plan, LossLaw law, double launchS, double releaseS, double toppleS, double stopS, double peakRpm,
        double launchTurns, double freeTurns, double turns)
    {
        _law = law;
        Plan = plan;
        LaunchS = launchS;
        ReleaseS = releaseS;
        ToppleS = toppleS;
        StopS = stopS;
        PeakRpm = peakRpm;
        LaunchTurns = launchTurns;
        FreeTurns = freeTurns;
        Turns = turns;
    }

    /// <summary>The plan that it came from.</summary>
    public SpinPlan Plan { get; }

    /// <summary>Start of the first push.</summary>
    public double LaunchS { get; }

    /// <summary>Release: the end of the last push, where the speed is greatest.</summary>
    public double ReleaseS { get; }

    /// <summary>The speed falls below the plan's; the fall begins.</summary>
    public double ToppleS { get; }

    /// <summary>The body no longer turns about its axis.</summary>
    public double StopS { get; }

    /// <summary>Speed at release, rpm.</summary>
    public double PeakRpm { get; }

    /// <summary>Turns from the launch to the release.</summary>
    public double LaunchTurns { get; }

    /// <summary>Turns from the release to the fall.</summary>
    public double FreeTurns { get; }

    /// <summary>Turns from the launch to the stop.</summary>
    public double Turns { get; }

    /// <summary>Time from release to the fall, s.</summary>
    public double SpinTimeS => ToppleS - ReleaseS;

    /// <summary>The moment after release at which the speed was <paramref name="rpm"/>; NaN where it never was.</summary>
    public double TimeAtSpeedS(double rpm) => rpm > PeakRpm || rpm < Plan.ToppleRpm
        ? double.NaN
        : ReleaseS + _law.TimeBetween(SpinUnits.RadPerS(PeakRpm), SpinUnits.RadPerS(rpm));

    /// <summary>Time from one speed down to another, s; NaN where it did not pass both.</summary>
    public double DecayTimeS(double fromRpm, double toRpm) => TimeAtSpeedS(toRpm) - TimeAtSpeedS(fromRpm);

    /// <summary>Deceleration at a speed, rad/s².</summary>
    public double DecelerationRadPerS2(double rpm) => _law.Deceleration(SpinUnits.RadPerS(rpm));
}
