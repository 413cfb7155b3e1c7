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

/// <summary>How far the wobble moves a mark at a speed.</summary>
/// <param name="Rpm">The speed.</param>
/// <param name="AmplitudeTurns">Turns.</param>
/// <param name="UAmplitudeTurns">Its standard uncertainty.</param>
public readonly record struct WobbleSize(double Rpm, double AmplitudeTurns, double UAmplitudeTurns);
