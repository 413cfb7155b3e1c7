namespace Acquire.Motion;

/// <summary>What the marks of a finished run say; times in calibrated seconds since the first pulse, u = standard uncertainty, such that
/// ±1.96 u is a 95 % interval also where few marks were to be had or an error is no bell curve.</summary>
/// <param name="Speed">The even grid of speed.csv.</param>
/// <param name="ReleaseS">When the speed peaked.</param>
/// <param name="UReleaseS">Its uncertainty.</param>
/// <param name="PeakRpm">The speed there.</param>
/// <param name="UPeakRpm">Its uncertainty.</param>
/// <param name="StopS">When the spin ended.</param>
/// <param name="UStopS">Its uncertainty.</param>
/// <param name="LastRpm">The speed at the last marks.</param>
/// <param name="Gaps">Times during which marks were away: from the last mark before to the first after, seconds.</param>
/// <param name="USpinTimeS">Uncertainty of the time from release to stop.</param>
/// <param name="Wobble">The precession that the marks show; null where none stands out.</param>
/// <param name="Windows">From when to when the marks lay that each point of the grid was fitted to, beside the smooth course of the whole
/// decay; NaN where the signal was lost.</param>
public sealed record SpinEstimate(
    IReadOnlyList<SpeedPoint> Speed, double ReleaseS, double UReleaseS, double PeakRpm, double UPeakRpm,
    double StopS, double UStopS, double LastRpm, IReadOnlyList<(double FromS, double ToS)> Gaps, double USpinTimeS, Wobble? Wobble,
    IReadOnlyList<(double FromS, double ToS)> Windows)
{
    /// <summary>Whether pulses soon after the last mark show that the sensor still saw; where none came the body may have spun on unseen, and
    /// the end lies between <see cref="LastMarkS"/> and <see cref="LatestStopS"/>.</summary>
    public bool IsEndWitnessed { get; init; }

    /// <summary>The last mark that the body's own turning brought, seconds; NaN until the end was placed by <see cref="SpinEnd"/>.</summary>
    public double LastMarkS { get; init; } = double.NaN;

    /// <summary>When the body must have fallen at the latest, seconds; NaN until the end was placed.</summary>
    public double LatestStopS { get; init; } = double.NaN;

    /// <summary>The same with its end placed anew.</summary>
    public SpinEstimate EndingWith(SpinEnd end) => this with
    {
        StopS = end.StopS,
        UStopS = end.UStopS,
        LastRpm = end.LastTurnsPerS * 60,
        USpinTimeS = double.Hypot(UReleaseS, end.UStopS),
        IsEndWitnessed = end.IsWitnessed,
        LastMarkS = end.LastMarkS,
        LatestStopS = end.LatestStopS,
    };

    /// <summary>The same with the uncertainty of the clock's rate in it. The clock scales all times alike, so that speeds are wrong by the
    /// same share at all moments, decelerations by twice that, and the spin time by once; over a window of a minute a crystal's share
    /// outweighs the marks' jitter, so that it belongs into every figure.</summary>
    /// <param name="uRatePpm">Standard uncertainty of the clock's rate, parts in a million.</param>
    public SpinEstimate WithClock(double uRatePpm)
    {
        double share = uRatePpm * 1e-6;
        return this with
        {
            Speed = [.. Speed.Select(p => p with
            {
                URpm = double.Hypot(p.URpm, p.Rpm * share),
                UDecelRpmPerS = double.Hypot(p.UDecelRpmPerS, 2 * p.DecelRpmPerS * share),
            })],
            UPeakRpm = double.Hypot(UPeakRpm, PeakRpm * share),
            USpinTimeS = double.Hypot(USpinTimeS, (StopS - ReleaseS) * share),
            Wobble = Wobble is null ? null : Wobble with
            {
                UConstantPerS2 = double.Hypot(Wobble.UConstantPerS2, 2 * Wobble.ConstantPerS2 * share),
            },
        };
    }
}
