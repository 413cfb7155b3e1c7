using MathNet.Numerics.LinearAlgebra;
using MathNet.Numerics.LinearAlgebra.Factorization;

namespace Acquire.Results.Braking;

/// <summary>Values against speed that a polynomial is to follow.</summary>
/// <param name="X">The speeds, rad/s.</param>
/// <param name="Y">The values, W.</param>
/// <param name="Spread">Of each value its standard deviation, up to a factor that is the same for all.</param>
/// <param name="First">The polynomial's lowest power.</param>
/// <param name="Held">Values that have no part in it whatever they are.</param>
internal sealed record BenchData(double[] X, double[] Y, double[] Spread, int First, bool[] Held)
{
    private readonly double _unit = X.Max();

    /// <summary>Powers of a speed over the highest.</summary>
    public Vector<double> Powers(double x, int count) => Vector<double>.Build.Dense(count, j => Math.Pow(x / _unit, First + j));

    /// <summary>The values that are not gone and the powers of their speeds, each over its spread.</summary>
    public (Matrix<double> Design, Vector<double> Values) Rows(int count, bool[] gone)
    {
        int[] kept = [.. Enumerable.Range(0, X.Length).Where(i => !gone[i])];
        return (Matrix<double>.Build.DenseOfRowVectors(kept.Select(i => Powers(X[i], count) / Spread[i])), Vector<double>.Build.Dense(kept.Length, i => Y[kept[i]] / Spread[kept[i]]));
    }

    /// <summary>How many coefficients the values bear: one less than there are speeds, and two values over.</summary>
    public int MostCoefficients(bool[] gone) => Math.Min(Levels(gone) - 1, gone.Count(g => !g) - 2);

    /// <summary>Distances over their spread, of all values not held, from the polynomial of least absolute deviations, found by weights one over the last distance.</summary>
    public double[] LeastDeviations(int count)
    {
        const int Steps = 40;
        (Matrix<double> design, Vector<double> values) = Rows(count, Held);
        Vector<double> found = design.QR(QRMethod.Thin).Solve(values);
        double least = Math.Max(1e-9 * values.L2Norm() / Math.Sqrt(values.Count), double.Epsilon);
        for (int step = 0; step < Steps; step++)
        {
            Vector<double> root = (values - (design * found)).Map(r => 1 / Math.Sqrt(Math.Max(Math.Abs(r), least)));
            found = Matrix<double>.Build.Dense(design.RowCount, count, (i, j) => root[i] * design[i, j]).QR(QRMethod.Thin).Solve(root.PointwiseMultiply(values));
        }

        return [.. values - (design * found)];
    }

    // Readings at one setting of the motor are not at quite the same speed.
    private int Levels(bool[] gone)
    {
        const double Same = 0.015;
        int levels = 0;
        double from = double.NegativeInfinity;
        foreach (double speed in X.Where((_, i) => !gone[i]).Order())
        {
            if (speed - from <= Same * _unit)
                continue;
            levels++;
            from = speed;
        }

        return levels;
    }
}
