namespace Acquire.Motion;

/// <summary>A least-squares polynomial of the turn angle in time over a window of marks, with the uncertainty of its slope and bend.</summary>
/// <remarks>Local polynomial regression: Fan and Gijbels, Local Polynomial Modelling and Its Applications (1996), chapter 3 (from
/// memory). For white jitter and a law that the polynomial can follow this reaches the Cramér-Rao bound of the window. The
/// variance is taken from sums over blocks of marks where residuals of neighbours resemble each other (Newey and West 1987). As it is
/// itself found from the residuals, uncertainties are stretched by Student's t.</remarks>
/// <param name="Speed">Turns a second at the wanted moment.</param>
/// <param name="USpeed">Its standard uncertainty.</param>
/// <param name="Acceleration">Turns a second squared.</param>
/// <param name="UAcceleration">Its standard uncertainty.</param>
/// <param name="ResidualRms">Root mean square of the residuals, turns, over the degrees of freedom.</param>
/// <param name="Count">Marks used.</param>
public readonly record struct LocalFit(
    double Speed, double USpeed, double Acceleration, double UAcceleration, double ResidualRms, int Count)
{
    /// <summary>Turn angle at the wanted moment.</summary>
    public double Angle { get; private init; }

    /// <summary>First and last moment of the marks used, s.</summary>
    public (double FromS, double ToS) Window { get; private init; }

    /// <summary>Turn angle so many seconds after the wanted moment, speed and acceleration alone counted.</summary>
    public double Turned(double dt) => Angle + (dt * (Speed + (0.5 * dt * Acceleration)));

    /// <summary>Seconds after the wanted moment at which the turn angle is reached, speed and acceleration alone counted; NaN where it never
    /// is.</summary>
    public double After(double turns)
    {
        double away = turns - Angle;
        double square = (Speed * Speed) + (2 * Acceleration * away);
        return square < 0 ? double.NaN : 2 * away / (Speed + Math.Sqrt(square));
    }

    private const int MostTerms = 5;
    private const int Blocks = 24;

    /// <summary>Fits the marks <paramref name="from"/> to <paramref name="to"/> (not included) about <paramref name="atS"/>.</summary>
    /// <param name="marks">The marks.</param>
    /// <param name="from">Index of the first.</param>
    /// <param name="to">Index after the last; at least <paramref name="degree"/> + 2 marks.</param>
    /// <param name="atS">Where the slope is wanted, seconds.</param>
    /// <param name="degree">1 to 4.</param>
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

        double variance = Residuals(time, turns, atS, scale, origin, b, terms, out bool coloured);
        double stretch = StudentT.Stretch(time.Length - terms);
        double slope = variance * inverse[MostTerms + 1];
        double bend = variance * inverse[(2 * MostTerms) + 2];
        if (coloured && time.Length >= 4 * Blocks)
        {
            Coloured(time, turns, atS, scale, origin, b, inverse, out double slopeSeen, out double bendSeen);
            stretch = StudentT.Stretch(Blocks - terms);
            slope = Math.Max(slope, slopeSeen);
            bend = Math.Max(bend, bendSeen);
        }

        return new LocalFit(
            b[1] / scale, stretch * Math.Sqrt(slope) / scale,
            2 * b[2] / (scale * scale), 2 * stretch * Math.Sqrt(bend) / (scale * scale),
            Math.Sqrt(variance), time.Length)
        {
            Angle = origin + b[0],
            Window = (time[0], time[^1]),
        };
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
        int terms, out bool coloured)
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

        coloured = lagged > sum * 2.5 / Math.Sqrt(time.Length);
        return sum / (time.Length - terms);
    }

    // The variance of slope and bend as the sums of (weight × residual) over blocks show it, whatever the colour within a block.
    private static void Coloured(
        ReadOnlySpan<double> time, ReadOnlySpan<double> turns, double atS, double scale, double origin, ReadOnlySpan<double> b,
        ReadOnlySpan<double> inverse, out double slope, out double bend)
    {
        (slope, bend) = (0, 0);
        for (int block = 0; block < Blocks; block++)
        {
            int from = (int)((long)time.Length * block / Blocks);
            int to = (int)((long)time.Length * (block + 1) / Blocks);
            (double s, double a) = (0, 0);
            for (int i = from; i < to; i++)
            {
                double x = (time[i] - atS) / scale;
                (double value, double forSlope, double forBend, double power) = (0, 0, 0, 1);
                for (int k = 0; k < MostTerms; k++)
                {
                    value += b[k] * power;
                    forSlope += inverse[MostTerms + k] * power;
                    forBend += inverse[(2 * MostTerms) + k] * power;
                    power *= x;
                }

                double residual = turns[i] - origin - value;
                s += forSlope * residual;
                a += forBend * residual;
            }

            slope += s * s;
            bend += a * a;
        }

        slope *= Blocks / (Blocks - 3.0);
        bend *= Blocks / (Blocks - 3.0);
    }
}
