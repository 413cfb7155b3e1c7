namespace Acquire.Motion;

/// <summary>What the smooth curve's own uncertainty adds to a window's: the estimate is d·c + l·(y − B c), so that the coefficients c count
/// as far as the window's weights l do not make up for them, (d − Bᵀl)ᵀ cov(c) (d − Bᵀl).</summary>
internal static class CurveShare
{
    /// <summary>Standard uncertainty of speed and acceleration by the curve.</summary>
    /// <param name="found">Curve and wobble.</param>
    /// <param name="from">First mark of the window.</param>
    /// <param name="to">Mark after its last.</param>
    /// <param name="atS">The moment.</param>
    public static (double Speed, double Acceleration) Of(WobbleFound found, int from, int to, double atS)
    {
        SplineBasis basis = found.Curve.Basis;
        int kinds = found.PhaseAt is null ? 1 : 3;
        double originS = found.Marks.TimeS[0];
        double[] forSpeed = new double[basis.Count * kinds];
        double[] forAcceleration = new double[forSpeed.Length];
        Derivatives(basis, atS - originS, kinds, forSpeed, forAcceleration);
        (double[] slope, double[] bend) = Weights(found.Marks.TimeS.AsSpan(from, to - from), atS);
        Span<double> values = stackalloc double[SplineBasis.Active];
        int near = 0;
        for (int i = from; i < to; i++)
        {
            double x = found.Marks.TimeS[i] - originS;
            near = basis.Interval(x, near);
            basis.Values(x, near, SplineBasis.Degree, values);
            (double sin, double cos) = found.PhaseAt is { } phases ? Math.SinCos(phases[i]) : (0, 0);
            for (int k = 0; k < SplineBasis.Active; k++)
            {
                int at = (near + k) * kinds;
                for (int kind = 0; kind < kinds; kind++)
                {
                    double regressor = values[k] * (kind == 0 ? 1 : kind == 1 ? cos : sin);
                    forSpeed[at + kind] -= slope[i - from] * regressor;
                    forAcceleration[at + kind] -= bend[i - from] * regressor;
                }
            }
        }

        return (Math.Sqrt(found.Fit.Variance(forSpeed)), Math.Sqrt(found.Fit.Variance(forAcceleration)));
    }

    // First and second derivative of each function, by those of a curve that is that function alone.
    private static void Derivatives(SplineBasis basis, double x, int kinds, double[] first, double[] second)
    {
        int interval = basis.Interval(x);
        for (int k = 0; k < SplineBasis.Active; k++)
        {
            double[] alone = new double[basis.Count];
            alone[interval + k] = 1;
            double[] speed = basis.Derived(alone, SplineBasis.Degree);
            first[(interval + k) * kinds] = basis.Curve(speed, SplineBasis.Degree - 1, x, interval);
            second[(interval + k) * kinds] = basis.Curve(basis.Derived(speed, SplineBasis.Degree - 1), SplineBasis.Degree - 2, x, interval);
        }
    }

    // Weights of each mark in slope and bend of a least-squares parabola about a moment, by orthogonal polynomials over the window.
    private static (double[] Slope, double[] Bend) Weights(ReadOnlySpan<double> time, double atS)
    {
        double mean = 0;
        foreach (double t in time)
            mean += t / time.Length;
        (double m2, double m3) = (0, 0);
        foreach (double t in time)
        {
            m2 += (t - mean) * (t - mean) / time.Length;
            m3 += (t - mean) * (t - mean) * (t - mean) / time.Length;
        }

        double[] slope = new double[time.Length];
        double[] bend = new double[time.Length];
        double square = 0;
        for (int i = 0; i < time.Length; i++)
        {
            double x = time[i] - mean;
            double q = (x * x) - (m3 / m2 * x) - m2;
            square += q * q;
            bend[i] = 2 * q;
        }

        double slopeOfQ = (2 * (atS - mean)) - (m3 / m2);
        for (int i = 0; i < time.Length; i++)
        {
            bend[i] /= square;
            slope[i] = ((time[i] - mean) / (m2 * time.Length)) + (slopeOfQ * bend[i] / 2);
        }

        return (slope, bend);
    }
}
