namespace Acquire.Motion;

/// <summary>B-splines of the fifth degree over given breaks: their values, and the derivatives of a curve made of them.</summary>
/// <remarks>Recurrence of Cox (1972) and de Boor (1972); derivatives by differences of the coefficients, de Boor, A Practical Guide to
/// Splines (2001), chapter X (from memory).</remarks>
internal sealed class SplineBasis
{
    public const int Degree = 5;
    public const int Active = Degree + 1;
    private readonly double[] _knots;

    /// <summary>Makes the basis.</summary>
    /// <param name="breaks">Rising moments: start, inner breaks, end.</param>
    public SplineBasis(IReadOnlyList<double> breaks)
    {
        Intervals = breaks.Count - 1;
        _knots = new double[breaks.Count + (2 * Degree)];
        for (int i = 0; i < _knots.Length; i++)
            _knots[i] = breaks[Math.Clamp(i - Degree, 0, Intervals)];
    }

    /// <summary>Number of intervals between breaks.</summary>
    public int Intervals { get; }

    /// <summary>Number of functions.</summary>
    public int Count => Intervals + Degree;

    /// <summary>Length of an interval.</summary>
    public double Length(int interval) => _knots[interval + Degree + 1] - _knots[interval + Degree];

    /// <summary>The interval that a moment lies in; beyond the ends the nearest.</summary>
    /// <param name="x">The moment.</param>
    /// <param name="near">A guess, as the last answer for moments in order.</param>
    public int Interval(double x, int near = 0)
    {
        int at = near;
        while (at + 1 < Intervals && x >= _knots[at + 1 + Degree])
            at++;
        while (at > 0 && x < _knots[at + Degree])
            at--;
        return at;
    }

    /// <summary>Values of the functions of degree <paramref name="degree"/> that are not zero in an interval: the first is number
    /// <paramref name="interval"/> of that degree's.</summary>
    public void Values(double x, int interval, int degree, Span<double> values)
    {
        Span<double> left = stackalloc double[Active];
        Span<double> right = stackalloc double[Active];
        int at = interval + Degree;
        values[0] = 1;
        for (int j = 1; j <= degree; j++)
        {
            left[j] = x - _knots[at + 1 - j];
            right[j] = _knots[at + j] - x;
            double saved = 0;
            for (int r = 0; r < j; r++)
            {
                double share = values[r] / (right[r + 1] + left[j - r]);
                values[r] = saved + (right[r + 1] * share);
                saved = left[j - r] * share;
            }

            values[j] = saved;
        }
    }

    /// <summary>Coefficients of the derivative of a curve of the given degree.</summary>
    public double[] Derived(double[] coefficients, int degree)
    {
        double[] derived = new double[coefficients.Length - 1];
        int lost = Degree - degree;
        for (int i = 0; i < derived.Length; i++)
        {
            double span = _knots[i + 1 + lost + degree] - _knots[i + 1 + lost];
            derived[i] = degree * (coefficients[i + 1] - coefficients[i]) / span;
        }

        return derived;
    }

    /// <summary>Value of a curve of the given degree.</summary>
    public double Curve(double[] coefficients, int degree, double x, int interval)
    {
        Span<double> values = stackalloc double[Active];
        Values(x, interval, degree, values);
        double sum = 0;
        for (int k = 0; k <= degree; k++)
            sum += values[k] * coefficients[interval + k];
        return sum;
    }
}
