namespace Acquire.Motion;

/// <summary>A precession seen in the marks: it moves the moment at which each passes the sensor. Its rate goes as one over the speed.</summary>
/// <remarks>Slow precession of a fast top: Ω = m g l/(I3 ω) (Goldstein, Classical Mechanics, section 5.7, from memory), so that rate times
/// speed is a constant of the body, m g l/(4π² I3) in turns a second squared.</remarks>
/// <param name="ConstantPerS2">Precessions a second times turns a second, 1/s².</param>
/// <param name="UConstantPerS2">Its standard uncertainty.</param>
/// <param name="Sizes">Amplitude, turns, by speed, rpm, the fastest first.</param>
public sealed record Wobble(double ConstantPerS2, double UConstantPerS2, IReadOnlyList<WobbleSize> Sizes)
{
    /// <summary>Precessions a second at a speed in rpm.</summary>
    public double HzAt(double rpm) => ConstantPerS2 / (rpm / 60);
}

/// <summary>How far the wobble moves a mark, as the mean over a stretch of marks.</summary>
/// <param name="TimeS">The middle of the stretch, seconds since the first pulse.</param>
/// <param name="Rpm">The speed there.</param>
/// <param name="AmplitudeTurns">Turns.</param>
/// <param name="UAmplitudeTurns">Its standard uncertainty, by what curve and wobble leave of the stretch's marks: √(2 s²/N) of an amplitude from N of
/// them with scatter s (Kay 1993, section 3.11, from memory).</param>
public readonly record struct WobbleSize(double TimeS, double Rpm, double AmplitudeTurns, double UAmplitudeTurns);
