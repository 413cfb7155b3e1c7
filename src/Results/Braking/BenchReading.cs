namespace Acquire.Results.Braking;

/// <summary>One reading of a motor bench at a steady speed.</summary>
/// <param name="Line">Line of its file, from 1.</param>
/// <param name="RadPerS">Speed, rad/s, above 0.</param>
/// <param name="PowerW">Power into the motor, W.</param>
/// <param name="Amps">Current into the motor, A; NaN where it was not read.</param>
public readonly record struct BenchReading(int Line, double RadPerS, double PowerW, double Amps = double.NaN);

/// <summary>The readings of one body or cover, or of the bare motor.</summary>
/// <param name="Name">What the sheet calls it.</param>
/// <param name="Readings">Its readings, in the order of the sheet.</param>
public sealed record BenchConfiguration(string Name, IReadOnlyList<BenchReading> Readings);
