using Acquire.Results.Fitting;

namespace Acquire.Results.Losses;

/// <summary>One set of exponents as it was fitted.</summary>
/// <param name="Law">The law.</param>
/// <param name="Covariance">Covariance of its coefficients, coloured residuals and the clock in it.</param>
/// <param name="Behind">By how much its criterion is above the best.</param>
public sealed record LawCandidate(LossLaw Law, double[,] Covariance, double Behind)
{
    internal static LawCandidate Of(double[] exponents, GaussNewton.Found found, double behind, double colour, double uRatePpm)
    {
        int n = exponents.Length;
        double clock = uRatePpm * 1e-6;
        double[,] covariance = new double[n, n];
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j < n; j++)
                covariance[i, j] = (colour * found.InverseNormal[i + 1, j + 1]) + (Share(i) * Share(j));
        }

        // A clock too slow by δ shows speeds too high by δ and decelerations by 2δ: the coefficient of (ω/ω_ref)^p by 2 − p.
        double Share(int k) => (2 - exponents[k]) * found.Parameters[k + 1] * clock;
        return new LawCandidate(new LossLaw([.. exponents.Select((p, k) => new LawTerm(p, found.Parameters[k + 1]))]), covariance, behind);
    }

    /// <summary>Standard uncertainty of what has these slopes against the coefficients.</summary>
    public double U(double[] slopes)
    {
        double sum = 0;
        for (int i = 0; i < slopes.Length; i++)
        {
            for (int j = 0; j < slopes.Length; j++)
                sum += slopes[i] * Covariance[i, j] * slopes[j];
        }

        return Math.Sqrt(Math.Max(0, sum));
    }
}
