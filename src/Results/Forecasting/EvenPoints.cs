namespace Acquire.Results.Forecasting;

/// <summary>Points that fill a cube evenly, always the same: fractions of the multiples of powers of 1/φ, where φ^(d+1) = φ + 1 (Kronecker sequence with the
/// generalised golden ratio, Roberts 2018; from memory).</summary>
internal sealed class EvenPoints
{
    private readonly double[] _step;
    private readonly double[] _at;

    /// <param name="dimensions">Of the cube.</param>
    public EvenPoints(int dimensions)
    {
        double phi = 2;
        for (int i = 0; i < 60; i++)
            phi = Math.Pow(1 + phi, 1.0 / (dimensions + 1));
        _step = [.. Enumerable.Range(1, dimensions).Select(i => Math.Pow(phi, -i))];
        _at = new double[dimensions];
        Array.Fill(_at, 0.5);
    }

    /// <summary>The next point, each coordinate above 0 and below 1.</summary>
    public void Next(Span<double> point)
    {
        for (int i = 0; i < point.Length; i++)
        {
            _at[i] = (_at[i] + _step[i]) % 1;
            point[i] = Math.Clamp(_at[i], 1e-12, 1 - 1e-12);
        }
    }
}
