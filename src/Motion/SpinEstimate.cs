namespace Acquire.Motion;

/// <summary>What the marks of a finished run say; times in calibrated seconds since the first pulse, u = standard uncertainty.</summary>
/// <param name="Speed">The even grid of speed.csv.</param>
/// <param name="ReleaseS">When the speed peaked.</param>
/// <param name="UReleaseS">Its uncertainty.</param>
/// <param name="PeakRpm">The speed there.</param>
/// <param name="UPeakRpm">Its uncertainty.</param>
/// <param name="StopS">When the spin ended.</param>
/// <param name="UStopS">Its uncertainty.</param>
/// <param name="LastRpm">The speed at the last marks.</param>
/// <param name="Gaps">Times during which marks were away: from the last mark before to the first after, seconds.</param>
public sealed record SpinEstimate(
    IReadOnlyList<SpeedPoint> Speed, double ReleaseS, double UReleaseS, double PeakRpm, double UPeakRpm,
    double StopS, double UStopS, double LastRpm, IReadOnlyList<(double FromS, double ToS)> Gaps);
