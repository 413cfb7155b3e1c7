using MathNet.Numerics.LinearAlgebra;

namespace Acquire.Results.Statistics;

/// <summary>A least-squares fit that is linear in its coefficients.</summary>
/// <param name="Coefficients">The coefficients.</param>
/// <param name="Covariance">Their covariance, scaled by the residuals' variance.</param>
/// <param name="ResidualSquares">Sum of the squared residuals.</param>
/// <param name="DegreesOfFreedom">Values less coefficients.</param>
public sealed record LinearModel(Vector<double> Coefficients, Matrix<double> Covariance, double ResidualSquares, int DegreesOfFreedom)
{
    /// <summary>Standard deviation of a residual.</summary>
    public double ResidualSd => Math.Sqrt(ResidualSquares / DegreesOfFreedom);

    /// <summary>Fits by a QR decomposition; null where the columns cannot be told apart or no residual would be left.</summary>
    /// <param name="design">A row for each value, a column for each coefficient.</param>
    /// <param name="values">The values.</param>
    /// <param name="variance">The variance of a value where it is known from elsewhere; else the residuals give it.</param>
    public static LinearModel? Fit(Matrix<double> design, Vector<double> values, double? variance = null)
    {
        ArgumentNullException.ThrowIfNull(design);
        ArgumentNullException.ThrowIfNull(values);
        int degrees = design.RowCount - design.ColumnCount;
        if (degrees < 0 || (degrees == 0 && variance is null))
            return null;

        // Columns of one length: what can be told apart does not hang on units.
        Vector<double> scale = Vector<double>.Build.Dense(design.ColumnCount, j => design.Column(j).L2Norm());
        if (scale.Any(s => !(s > 0)))
            return null;
        Matrix<double> unit = design * Matrix<double>.Build.DiagonalOfDiagonalVector(scale.Map(s => 1 / s));
        var qr = unit.QR(MathNet.Numerics.LinearAlgebra.Factorization.QRMethod.Thin);
        double[] diagonal = [.. qr.R.Diagonal().Select(Math.Abs)];
        if (diagonal.Min() < 1e-10 * diagonal.Max())
            return null;
        Vector<double> found = qr.Solve(values).PointwiseDivide(scale);
        double squares = (values - (design * found)).PointwisePower(2).Sum();
        Matrix<double> inverse = qr.R.Inverse();
        Matrix<double> covariance = inverse * inverse.Transpose();
        covariance.MapIndexedInplace((i, j, c) => c * (variance ?? squares / degrees) / (scale[i] * scale[j]));
        return new LinearModel(found, covariance, squares, degrees);
    }

    /// <summary>The value of a combination of the coefficients and its standard uncertainty.</summary>
    public (double Value, double U) At(Vector<double> weights)
    {
        double value = weights.DotProduct(Coefficients);
        return (value, Math.Sqrt(Math.Max(0, weights.DotProduct(Covariance * weights))));
    }
}
