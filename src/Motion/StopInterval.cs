using MathNet.Numerics.Distributions;

namespace Acquire.Motion;

/// <summary>How well the end of a spin is known that lies anywhere between the last mark and the one that did not come.</summary>
/// <remarks>Such an error is evenly spread, no bell curve: its standard deviation times 1.96 would reach beyond its limits and hold the
/// truth always. What is stated is the half-width of the 95 % interval over 1.96 (JCGM 101:2008, 7.7: intervals from the distribution
/// itself).</remarks>
internal static class StopInterval
{
    private const double Wanted = 0.95;
    private const double Normal975 = 1.959964;

    /// <summary>Uncertainty of an evenly spread error and a normal one together, so that ±1.96 of it is a 95 % interval.</summary>
    /// <param name="half">Half the width of the even spread.</param>
    /// <param name="u">Standard uncertainty of the normal error.</param>
    /// <param name="missed">Share of the marks that pass unseen, 0 to below 1: the last may have been one of them, and the end lies then a
    /// spacing later or more.</param>
    public static double U(double half, double u, double missed)
    {
        double share = Wanted / (1 - missed);
        if (share > 0.999)
            half *= 1 + (2 * (share - 0.999) * (1 - missed) / Math.Max(missed, 1e-3));
        share = Math.Min(share, 0.999);
        if (u < 1e-6 * half)
            return share * half / Normal975;
        (double low, double high) = (0, half + (5 * u));
        for (int i = 0; i < 60; i++)
        {
            double x = 0.5 * (low + high);
            if (Held(x, half, u) < share)
                low = x;
            else
                high = x;
        }

        return high / Normal975;
    }

    // P(|R + N| ≤ x), R even within ±half, N normal: the integral of Φ is zΦ(z) + φ(z).
    private static double Held(double x, double half, double u)
    {
        if (half < 1e-6 * u)
            return (2 * Normal.CDF(0, 1, x / u)) - 1;
        static double Area(double z) => (z * Normal.CDF(0, 1, z)) + Normal.PDF(0, 1, z);
        double over = Area((x + half) / u) - Area((x - half) / u);
        return (u * 2 * over / (2 * half)) - 1;
    }
}
