namespace Acquire.Results.Fitting;

/// <summary>Nonlinear least squares: Gauss-Newton steps, damped where they lead astray (Levenberg 1944, Marquardt 1963).</summary>
internal static class GaussNewton
{
    private const int MostSteps = 200;
    private const double FirstDamping = 1e-3;
    private const double MostDamping = 1e12;

    /// <summary>A model at one place: what it leaves of each datum, and how that changes with each parameter.</summary>
    /// <param name="Left">Datum less model, each over its uncertainty.</param>
    /// <param name="Slopes">For each parameter the model's derivative at each datum, over the same.</param>
    public readonly record struct Place(double[] Left, double[][] Slopes);

    /// <summary>The least sum of squares.</summary>
    /// <param name="Parameters">The parameters there.</param>
    /// <param name="At">The model there.</param>
    /// <param name="Squares">The sum.</param>
    /// <param name="InverseNormal">Covariance of the parameters were each datum's uncertainty 1.</param>
    public sealed record Found(double[] Parameters, Place At, double Squares, double[,] InverseNormal);

    /// <summary>Finds it.</summary>
    /// <param name="model">The model; null where it has no value.</param>
    /// <param name="start">Where to begin.</param>
    /// <param name="tolerance">Ends when a step would lower the sum of squares by less than this share of it.</param>
    /// <returns>Null where the model has no value at the start, its parameters cannot be told apart or it does not end.</returns>
    public static Found? Minimise(Func<double[], Place?> model, double[] start, double tolerance = 1e-14)
    {
        double[] at = start;
        if (model(at) is not { } here)
            return null;
        double squares = Squares(here.Left);
        double damping = 0;
        for (int i = 0; i < MostSteps; i++)
        {
            if (Step(here, damping) is not { } step)
                return null;
            double promised = Promise(here, step);
            if (damping <= FirstDamping && promised <= tolerance * squares)
                return Ended(at, here, squares);
            double[] next = [.. at.Select((p, k) => p + step[k])];
            if (model(next) is { } there && Squares(there.Left) <= squares)
            {
                (at, here) = (next, there);
                squares = Squares(here.Left);
                damping = damping <= FirstDamping ? 0 : damping / 10;
            }
            else
            {
                damping = Math.Max(FirstDamping, damping * 10);
                if (damping > MostDamping)
                    return promised <= 1e-6 * squares ? Ended(at, here, squares) : null;
            }
        }

        return null;
    }

    private static Found? Ended(double[] at, Place here, double squares) =>
        Householder.Solve([.. here.Slopes.Select(s => (double[])s.Clone())], (double[])here.Left.Clone()) is { } last
            ? new Found(at, here, squares, last.InverseNormal())
            : null;

    // Damping adds a row a parameter that asks for a short step, in the parameter's own measure.
    private static IReadOnlyList<double>? Step(Place here, double damping)
    {
        int data = here.Left.Length;
        int n = here.Slopes.Length;
        int rows = damping > 0 ? data + n : data;
        double[][] columns = new double[n][];
        for (int k = 0; k < n; k++)
        {
            columns[k] = new double[rows];
            here.Slopes[k].CopyTo(columns[k], 0);
            if (damping > 0)
                columns[k][data + k] = Math.Sqrt(damping * Squares(here.Slopes[k]));
        }

        double[] right = new double[rows];
        here.Left.CopyTo(right, 0);
        return Householder.Solve(columns, right)?.Solution;
    }

    // By how much the sum of squares would fall were the model straight.
    private static double Promise(Place here, IReadOnlyList<double> step)
    {
        double sum = 0;
        for (int i = 0; i < here.Left.Length; i++)
        {
            double moved = 0;
            for (int k = 0; k < step.Count; k++)
                moved += here.Slopes[k][i] * step[k];
            sum += moved * ((2 * here.Left[i]) - moved);
        }

        return sum;
    }

    private static double Squares(double[] values)
    {
        double sum = 0;
        foreach (double v in values)
            sum += v * v;
        return sum;
    }
}
