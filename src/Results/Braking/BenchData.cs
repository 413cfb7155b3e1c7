using MathNet.Numerics.LinearAlgebra;
using MathNet.Numerics.LinearAlgebra.Factorization;

namespace Acquire.Results.Braking;

/// <summary>Values against speed that a curve is to follow: a polynomial of up to four coefficients; with more a cubic spline with knots at even steps of speed (de Boor, A
/// Practical Guide to Splines, 1978; from memory), so that what sets in at a speed, as a cover's effect does, bends the curve there and not elsewhere.</summary>
/// <param name="X">The speeds, rad/s.</param>
/// <param name="Y">The values, W.</param>
/// <param name="Spread">Of each value its standard deviation, up to a factor that is the same for all.</param>
/// <param name="First">The lowest power; where it is not 0 all of the curve is a multiple of it.</param>
/// <param name="Held">Values that have no part in it whatever they are.</param>
/// <param name="Low">The lowest speed of all that share the knots, rad/s.</param>
/// <param name="High">The highest.</param>
internal sealed record BenchData(double[] X, double[] Y, double[] Spread, int First, bool[] Held, double Low, double High)
{
    /// <summary>Coefficients of a cubic.</summary>
    public const int Cubic = 4;

    private readonly double _unit = High;

    /// <summary>What the coefficients multiply at a speed: powers of it over the highest, and for each knot the cube of what is beyond it.</summary>
    public Vector<double> Powers(double x, int count)
    {
        double lowest = Math.Pow(x / _unit, First);
        return Vector<double>.Build.Dense(count, j => j < Cubic ? lowest * Math.Pow(x / _unit, j) : lowest * Math.Pow(Math.Max(0, x - Knot(j - Cubic, count - Cubic)) / _unit, 3));
    }

    private double Knot(int number, int knots) => Low + ((High - Low) * (number + 1) / (knots + 1));

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
            if (speed - from <= Same * High)
                continue;
            levels++;
            from = speed;
        }

        return levels;
    }
}
