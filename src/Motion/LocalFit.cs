namespace Acquire.Motion;

/// <summary>A least-squares polynomial of the turn angle in time over a window of marks, with the uncertainty of its slope and bend.</summary>
/// <remarks>Local polynomial regression: Fan and Gijbels, Local Polynomial Modelling and Its Applications (1996), chapter 3 (from
/// memory). For white jitter and a law that the polynomial can follow this reaches the Cramér-Rao bound of the window. The
/// variance is widened where residuals of neighbours resemble each other (first-order autoregression, Bartlett 1935:
/// effective number n(1−r)/(1+r)).</remarks>
/// <param name="Speed">Turns a second at the wanted moment.</param>
/// <param name="USpeed">Its standard uncertainty.</param>
/// <param name="Acceleration">Turns a second squared.</param>
/// <param name="UAcceleration">Its standard uncertainty.</param>
/// <param name="ResidualRms">Root mean square of the residuals, turns, over the degrees of freedom.</param>
/// <param name="Count">Marks used.</param>
public readonly record struct LocalFit(
    double Speed, double USpeed, double Acceleration, double UAcceleration, double ResidualRms, int Count)
{
    private const int MostTerms = 5;

    /// <summary>Fits the marks <paramref name="from"/> to <paramref name="to"/> (not included) about <paramref name="atS"/>.</summary>
    /// <param name="marks">The marks.</param>
    /// <param name="from">Index of the first.</param>
    /// <param name="to">Index after the last; at least <paramref name="degree"/> + 2 marks.</param>
    /// <param name="atS">Where the slope is wanted, seconds.</param>
    /// <param name="degree">2 to 4.</param>
    public static LocalFit At(MarkSeries marks, int from, int to, double atS, int degree)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(to - from, degree + 2);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(degree, MostTerms - 1);
        int terms = degree + 1;
        ReadOnlySpan<double> time = marks.TimeS.AsSpan(from, to - from);
        ReadOnlySpan<double> turns = marks.Turns.AsSpan(from, to - from);
        double scale = Math.Max(Math.Abs(time[0] - atS), Math.Abs(time[^1] - atS));
        double origin = turns[turns.Length / 2];
        Span<double> normal = stackalloc double[MostTerms * MostTerms];
        Span<double> right = stackalloc double[MostTerms];
        Sums(time, turns, atS, scale, origin, terms, normal, right);
        Span<double> inverse = stackalloc double[MostTerms * MostTerms];
        Invert(normal, inverse, terms);
        Span<double> b = stackalloc double[MostTerms];
        for (int r = 0; r < terms; r++)
        {
            for (int c = 0; c < terms; c++)
                b[r] += inverse[(r * MostTerms) + c] * right[c];
        }

        double variance = Residuals(time, turns, atS, scale, origin, b, terms, out double rms);
        return new LocalFit(
            b[1] / scale, Math.Sqrt(variance * inverse[MostTerms + 1]) / scale,
            2 * b[2] / (scale * scale), 2 * Math.Sqrt(variance * inverse[(2 * MostTerms) + 2]) / (scale * scale),
            rms, time.Length);
    }

    private static void Sums(
        ReadOnlySpan<double> time, ReadOnlySpan<double> turns, double atS, double scale, double origin, int terms,
        Span<double> normal, Span<double> right)
    {
        turns = turns[..time.Length];
        // Each sum in a variable of its own: this loop is most of what a long run's estimate costs. A lower degree drops those that it has
        // no use for.
        (double s1, double s2, double s3, double s4) = (0, 0, 0, 0);
        (double s5, double s6, double s7, double s8) = (0, 0, 0, 0);
        (double r0, double r1, double r2, double r3, double r4) = (0, 0, 0, 0, 0);
        for (int i = 0; i < time.Length; i++)
        {
            double x = (time[i] - atS) / scale;
            double y = turns[i] - origin;
            double x2 = x * x;
            double x3 = x2 * x;
            double x4 = x3 * x;
            s1 += x;
            s2 += x2;
            s3 += x3;
            s4 += x4;
            s5 += x4 * x;
            s6 += x4 * x2;
            s7 += x4 * x3;
            s8 += x4 * x4;
            r0 += y;
            r1 += x * y;
            r2 += x2 * y;
            r3 += x3 * y;
            r4 += x4 * y;
        }

        ReadOnlySpan<double> powers = [time.Length, s1, s2, s3, s4, s5, s6, s7, s8];
        ReadOnlySpan<double> products = [r0, r1, r2, r3, r4];
        products[..terms].CopyTo(right);
        for (int r = 0; r < terms; r++)
        {
            for (int c = 0; c < terms; c++)
                normal[(r * MostTerms) + c] = powers[r + c];
        }
    }

    // Gauss-Jordan with pivots on at most five by five: MathNet's matrices would allocate some dozens of objects at each point of the grid.
    private static void Invert(Span<double> a, Span<double> inverse, int n)
    {
        for (int i = 0; i < n; i++)
            inverse[(i * MostTerms) + i] = 1;
        for (int column = 0; column < n; column++)
        {
            int pivot = column;
            for (int r = column + 1; r < n; r++)
            {
                if (Math.Abs(a[(r * MostTerms) + column]) > Math.Abs(a[(pivot * MostTerms) + column]))
                    pivot = r;
            }

            double head = a[(pivot * MostTerms) + column];
            for (int c = 0; c < n; c++)
            {
                (a[(pivot * MostTerms) + c], a[(column * MostTerms) + c]) = (a[(column * MostTerms) + c], a[(pivot * MostTerms) + c] / head);
                (inverse[(pivot * MostTerms) + c], inverse[(column * MostTerms) + c]) =
                    (inverse[(column * MostTerms) + c], inverse[(pivot * MostTerms) + c] / head);
            }

            for (int r = 0; r < n; r++)
            {
                double factor = a[(r * MostTerms) + column];
                if (r == column || factor == 0)
                    continue;
                for (int c = 0; c < n; c++)
                {
                    a[(r * MostTerms) + c] -= factor * a[(column * MostTerms) + c];
                    inverse[(r * MostTerms) + c] -= factor * inverse[(column * MostTerms) + c];
                }
            }
        }
    }

    private static double Residuals(
        ReadOnlySpan<double> time, ReadOnlySpan<double> turns, double atS, double scale, double origin, ReadOnlySpan<double> b,
        int terms, out double rms)
    {
        turns = turns[..time.Length];
        (double b0, double b1, double b2, double b3, double b4) = (b[0], b[1], b[2], b[3], b[4]); // 0 beyond the degree
        (double sum, double lagged, double last) = (0, 0, 0);
        for (int i = 0; i < time.Length; i++)
        {
            double x = (time[i] - atS) / scale;
            double value = (((((((b4 * x) + b3) * x) + b2) * x) + b1) * x) + b0;
            double residual = turns[i] - origin - value;
            sum += residual * residual;
            lagged += residual * last;
            last = residual;
        }

        int freedom = time.Length - terms;
        double variance = sum / freedom;
        rms = Math.Sqrt(variance);
        double likeness = sum > 0 ? Math.Clamp(lagged / sum, 0, 0.98) : 0;
        bool coloured = likeness > 2 / Math.Sqrt(time.Length);
        return coloured ? variance * (1 + likeness) / (1 - likeness) : variance;
    }
}
