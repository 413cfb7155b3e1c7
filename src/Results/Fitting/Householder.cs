namespace Acquire.Results.Fitting;

/// <summary>Linear least squares by Householder reflections (Golub and Van Loan, Matrix Computations, section 5.2, from memory): columns that are
/// nearly alike lose half as many digits as by normal equations.</summary>
internal sealed class Householder
{
    private readonly double[,] _r;
    private readonly double[] _scale;
    private readonly double[] _solution;

    private Householder(double[,] r, double[] scale, double[] solution)
    {
        _r = r;
        _scale = scale;
        _solution = solution;
    }

    /// <summary>The solution.</summary>
    public IReadOnlyList<double> Solution => _solution;

    /// <summary>Solves columns · x ≈ right. Both are used up.</summary>
    /// <param name="columns">The columns, each as long as <paramref name="right"/>.</param>
    /// <param name="right">The right side.</param>
    /// <returns>Null where columns cannot be told apart in double precision.</returns>
    public static Householder? Solve(double[][] columns, double[] right)
    {
        const double Alike = 1e-13;
        int n = columns.Length;
        double[] scale = [.. columns.Select(Norm)];
        if (scale.Any(s => !(s > 0) || !double.IsFinite(s)))
            return null;
        double[,] r = new double[n, n];
        for (int k = 0; k < n; k++)
        {
            double[] v = columns[k];
            double norm = Norm(v.AsSpan(k));
            if (!(norm > Alike * scale[k]))
                return null;
            double alpha = v[k] > 0 ? -norm : norm;
            v[k] -= alpha;
            double half = norm * (norm + Math.Abs(v[k] + alpha));
            for (int j = k + 1; j < n; j++)
                Reflect(v, columns[j], k, half);
            Reflect(v, right, k, half);
            r[k, k] = alpha / scale[k];
            for (int j = k + 1; j < n; j++)
                r[k, j] = columns[j][k] / scale[j];
        }

        double[] solution = Back(r, right);
        for (int k = 0; k < n; k++)
            solution[k] /= scale[k];
        return new Householder(r, scale, solution);
    }

    /// <summary>The inverse of columnsᵀ · columns.</summary>
    public double[,] InverseNormal()
    {
        int n = _scale.Length;
        double[][] inverse = [.. Enumerable.Range(0, n).Select(k => Back(_r, [.. Enumerable.Range(0, n).Select(i => i == k ? 1.0 : 0)]))];
        double[,] normal = new double[n, n];
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j < n; j++)
                normal[i, j] = inverse.Sum(column => column[i] * column[j]) / (_scale[i] * _scale[j]);
        }

        return normal;
    }

    private static void Reflect(double[] v, double[] onto, int from, double half)
    {
        double dot = 0;
        for (int i = from; i < v.Length; i++)
            dot += v[i] * onto[i];
        dot /= half;
        for (int i = from; i < v.Length; i++)
            onto[i] -= dot * v[i];
    }

    private static double[] Back(double[,] r, ReadOnlySpan<double> right)
    {
        int n = r.GetLength(0);
        double[] x = new double[n];
        for (int k = n - 1; k >= 0; k--)
        {
            double sum = right[k];
            for (int j = k + 1; j < n; j++)
                sum -= r[k, j] * x[j];
            x[k] = sum / r[k, k];
        }

        return x;
    }

    private static double Norm(double[] v) => Norm(v.AsSpan());

    private static double Norm(ReadOnlySpan<double> v)
    {
        double sum = 0;
        foreach (double x in v)
            sum += x * x;
        return Math.Sqrt(sum);
    }
}
