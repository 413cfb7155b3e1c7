namespace Acquire.Motion;

/// <summary>How a run stood before its marks came back, should what came back prove to be another launch.</summary>
/// <param name="Watch">What was seen of the marks that came back.</param>
/// <param name="LastPulse">Ordinal of the run's last pulse before them.</param>
/// <param name="LastMarkTicks">Ticks of its last mark before them.</param>
/// <param name="IsRun">Whether it was long enough for a run by then.</param>
/// <param name="SeemsStopped">Whether it had ceased at a speed at which a spin may end.</param>
internal sealed record BeforeBack(LockWatch Watch, long LastPulse, long LastMarkTicks, bool IsRun, bool SeemsStopped);
