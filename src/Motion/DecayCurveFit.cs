using MathNet.Numerics.LinearAlgebra;
using MathNet.Numerics.LinearAlgebra.Factorization;

namespace Acquire.Motion;

/// <summary>Least squares for <see cref="DecayCurve"/>, with or without a wobble of slowly changing size beside it.</summary>
internal static class DecayCurveFit
{
    private const double LongestFall = 0.8;
    private const double ShortestFall = 0.02;
    private const double LeastCycles = 2;

    /// <summary>What was found.</summary>
    /// <param name="Curve">The curve.</param>
    /// <param name="Left">What the curve leaves of each mark's angle, the wobble still in it, turns.</param>
    /// <param name="Wobble">The wobble at each mark, turns; empty where none was fitted.</param>
    /// <param name="Size">Its amplitude at each mark, turns.</param>
    /// <param name="Squares">Weighted sum of the squares of what both leave.</param>
    /// <param name="Terms">Coefficients fitted.</param>
    public readonly record struct Fitted(
        DecayCurve Curve, double[] Left, double[] Wobble, double[] Size, double Squares, int Terms)
    {
        /// <summary>Factor of the scaled normal equations.</summary>
        public Cholesky<double> Normal { get; init; } = null!;

        /// <summary>What each coefficient was scaled by.</summary>
        public double[] Scale { get; init; } = [];

        /// <summary>Variance of a sum of coefficients, each with its share.</summary>
        public double Variance(double[] shares)
        {
            double[] scale = Scale;
            Vector<double> scaled = Vector<double>.Build.Dense(shares.Length, i => shares[i] * scale[i]);
            return scaled * Normal.Solve(scaled) * Squares / Math.Max(1, Left.Length - Terms);
        }

        /// <summary>Schwarz's criterion (1978): of two fits the one with less tells more.</summary>
        public double Criterion => (Left.Length * Math.Log(Squares)) + (Terms * Math.Log(Left.Length));
    }

    /// <summary>Fits with pieces so short that shorter ones tell no more, and once shorter than that: what the criterion cannot tell any
    /// more over the whole run may still bend a window.</summary>
    public static Fitted Fine(MarkSeries marks, double[] speeds, double[]? phases)
    {
        Fitted best = default;
        int pieces = 0;
        for (double fall = LongestFall; fall > ShortestFall; fall /= 2)
        {
            SplineBasis basis = DecayCurve.BasisFor(marks, fall);
            if (basis.Intervals == pieces)
                continue;
            if (pieces > 0 && phases is not null && FewestCycles(marks, basis, phases) < LeastCycles)
                break;
            Fitted next = Of(marks, basis, speeds, phases);
            bool worse = pieces > 0 && next.Criterion > best.Criterion;
            best = next;
            pieces = basis.Intervals;
            if (worse)
                break;
        }

        return best;
    }

    /// <summary>Fits.</summary>
    /// <param name="marks">The marks.</param>
    /// <param name="basis">The splines.</param>
    /// <param name="speeds">Rough speed at each mark: a mark's moment, not its angle, scatters evenly.</param>
    /// <param name="phases">Phase of the wobble at each mark, radians; null for no wobble.</param>
    public static Fitted Of(MarkSeries marks, SplineBasis basis, double[] speeds, double[]? phases)
    {
        int kinds = phases is null ? 1 : 3;
        int count = basis.Count * kinds;
        int wide = SplineBasis.Active * kinds;
        double[,] normal = new double[count, count];
        double[] right = new double[count];
        Span<double> values = stackalloc double[SplineBasis.Active];
        double[] row = new double[wide];
        double[,] block = new double[wide, wide];
        double[] product = new double[wide];
        (double originS, double originTurns) = (marks.TimeS[0], marks.Turns[marks.Count / 2]);
        int at = 0;
        for (int i = 0; i < marks.Count; i++)
        {
            double x = marks.TimeS[i] - originS;
            int interval = basis.Interval(x, at);
            if (interval != at)
                Pour(block, product, at * kinds, normal, right);
            at = interval;
            basis.Values(x, at, SplineBasis.Degree, values);
            Row(values, phases is null ? 0 : phases[i], kinds, row);
            double weight = 1 / (speeds[i] * speeds[i]);
            double y = weight * (marks.Turns[i] - originTurns);
            for (int r = 0; r < wide; r++)
            {
                double weighted = weight * row[r];
                product[r] += y * row[r];
                for (int c = 0; c <= r; c++)
                    block[r, c] += weighted * row[c];
            }
        }

        Pour(block, product, at * kinds, normal, right);
        (double[] found, Cholesky<double> factor, double[] scale) = Solve(normal, right);
        return Split(marks, basis, speeds, phases, kinds, found, originS, originTurns) with { Normal = factor, Scale = scale };
    }

    // Where a piece holds no whole cycle of the wobble, curve and wobble are the same thing.
    private static double FewestCycles(MarkSeries marks, SplineBasis basis, double[] phases)
    {
        double fewest = double.PositiveInfinity;
        (int at, double cycles) = (0, 0);
        for (int i = 1; i < marks.Count; i++)
        {
            int interval = basis.Interval(marks.TimeS[i] - marks.TimeS[0], at);
            if (interval != at)
            {
                fewest = Math.Min(fewest, cycles);
                (at, cycles) = (interval, 0);
            }

            cycles += (phases[i] - phases[i - 1]) / (2 * Math.PI);
        }

        return Math.Min(fewest, cycles);
    }

    private static void Row(ReadOnlySpan<double> values, double phase, int kinds, double[] row)
    {
        if (kinds == 1)
        {
            values.CopyTo(row);
            return;
        }

        (double sin, double cos) = Math.SinCos(phase);
        for (int k = 0; k < values.Length; k++)
        {
            row[3 * k] = values[k];
            row[(3 * k) + 1] = values[k] * cos;
            row[(3 * k) + 2] = values[k] * sin;
        }
    }

    private static void Pour(double[,] block, double[] product, int from, double[,] normal, double[] right)
    {
        for (int r = 0; r < product.Length; r++)
        {
            right[from + r] += product[r];
            for (int c = 0; c <= r; c++)
                normal[from + r, from + c] += block[r, c];
        }

        Array.Clear(block);
        Array.Clear(product);
    }

    private static (double[] Found, Cholesky<double> Factor, double[] Scale) Solve(double[,] normal, double[] right)
    {
        int n = right.Length;
        double[] scale = new double[n];
        double least = 0;
        for (int i = 0; i < n; i++)
            least = Math.Max(least, normal[i, i] * 1e-12);
        for (int i = 0; i < n; i++)
            scale[i] = 1 / Math.Sqrt(normal[i, i] + least);
        Matrix<double> matrix = Matrix<double>.Build.Dense(
            n, n, (r, c) => (r >= c ? normal[r, c] : normal[c, r]) * scale[r] * scale[c] + (r == c ? 1e-13 : 0));
        Cholesky<double> factor = matrix.Cholesky();
        Vector<double> found = factor.Solve(Vector<double>.Build.Dense(n, i => right[i] * scale[i]));
        return ([.. found.Select((value, i) => value * scale[i])], factor, scale);
    }

    private static Fitted Split(
        MarkSeries marks, SplineBasis basis, double[] speeds, double[]? phases, int kinds, double[] found, double originS,
        double originTurns)
    {
        double[][] parts = [.. Enumerable.Range(0, kinds).Select(k => Enumerable.Range(0, basis.Count).Select(i => found[(i * kinds) + k]).ToArray())];
        var curve = new DecayCurve(basis, parts[0], originS, originTurns);
        double[] left = new double[marks.Count];
        double[] wobble = new double[kinds == 1 ? 0 : marks.Count];
        double[] size = new double[wobble.Length];
        (int near, double squares) = (0, 0);
        for (int i = 0; i < marks.Count; i++)
        {
            left[i] = marks.Turns[i] - curve.Turns(marks.TimeS[i], ref near);
            double rest = left[i] / speeds[i];
            if (phases is null)
            {
                squares += rest * rest;
                continue;
            }

            (double sin, double cos) = Math.SinCos(phases[i]);
            double a = basis.Curve(parts[1], SplineBasis.Degree, marks.TimeS[i] - originS, near);
            double b = basis.Curve(parts[2], SplineBasis.Degree, marks.TimeS[i] - originS, near);
            wobble[i] = (a * cos) + (b * sin);
            size[i] = Math.Sqrt((a * a) + (b * b));
            rest -= wobble[i] / speeds[i];
            squares += rest * rest;
        }

        return new Fitted(curve, left, wobble, size, squares, found.Length);
    }
}
