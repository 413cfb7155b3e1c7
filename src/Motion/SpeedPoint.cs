namespace Acquire.Motion;

/// <summary>The best estimate of speed at one moment. NaN stands where the signal was lost: nothing is invented.</summary>
/// <param name="TimeS">Seconds since the first pulse of the run, on the calibrated clock.</param>
/// <param name="Rpm">Speed, turns a minute.</param>
/// <param name="URpm">Its standard uncertainty (k = 1).</param>
/// <param name="DecelRpmPerS">Deceleration, positive while slowing.</param>
/// <param name="UDecelRpmPerS">Its standard uncertainty (k = 1).</param>
public readonly record struct SpeedPoint(double TimeS, double Rpm, double URpm, double DecelRpmPerS, double UDecelRpmPerS);
