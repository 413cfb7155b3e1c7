using Acquire.Results.Losses;

namespace Acquire.Results.Forecasting;

/// <summary>Laws that a spin so far may follow, as many of each kind as they are likely.</summary>
/// <remarks>Bayes' rule over all sets of the candidate exponents. No coefficient is negative. Beforehand each number of terms is as likely as another but one alone, each set of so many
/// too but for those without dry contact, which are less so, and of a set all shares in the loss at a speed in the middle of the spin (a flat Dirichlet density), the loss itself at that speed on a logarithmic scale.
/// The likelihood of a set is a normal density cut off where a coefficient would be negative; it is drawn from one coefficient after the other,
/// each draw weighted by the chance that it had (Geweke 1991, Hajivassiliou and McFadden 1998, Keane 1994, "GHK"; from memory), and the scale of the noise
/// from its chi-squared.</remarks>
public sealed class LawDraws
{
    /// <summary>Laws that are kept.</summary>
    public const int Kept = 1000;

    private const int Pilot = 400;
    private const int Full = 2500;
    private const int Rounds = 4;
    private const double Enough = 500;
    private const double Slight = 0.002;

    private LawDraws(IReadOnlyList<Draw> all, double effective) => (All, Effective) = (all, effective);

    /// <summary>A law with the speed at which the data end.</summary>
    /// <param name="Law">The law.</param>
    /// <param name="LastRadPerS">The speed, rad/s.</param>
    public readonly record struct Draw(LossLaw Law, double LastRadPerS);

    /// <summary>The laws, each as likely as another.</summary>
    public IReadOnlyList<Draw> All { get; }

    /// <summary>How many independent draws their weights amount to.</summary>
    public double Effective { get; }

    /// <summary>Draws them; the same evidence gives the same.</summary>
    /// <param name="evidence">The spin so far.</param>
    /// <param name="middleRadPerS">The speed of which shares are spoken beforehand, rad/s.</param>
    public static LawDraws Of(LawEvidence evidence, double middleRadPerS)
    {
        TermSet[] sets = [.. Enumerable.Range(1, (1 << LossLaw.Exponents.Count) - 1).Select(set => new TermSet(evidence, set, middleRadPerS))];
        foreach (TermSet set in sets)
            set.Take(Pilot);
        double most = sets.Max(s => s.LogEvidence);
        double sum = sets.Sum(s => Math.Exp(s.LogEvidence - most));
        TermSet[] likely = [.. sets.Where(s => Math.Exp(s.LogEvidence - most) > Slight * sum)];
        (double[] weights, double total, double effective) = ([], 0, 0);
        for (int round = 0; round < Rounds && effective < Enough; round++)
        {
            foreach (TermSet set in likely)
                set.Take(Full);
            most = likely.Max(s => s.Weights.Max());
            weights = [.. likely.SelectMany(s => s.Weights.Select(w => Math.Exp(w - most) / s.Weights.Count))];
            total = weights.Sum();
            effective = total * total / weights.Sum(w => w * w);
        }

        double[][] coefficients = [.. likely.SelectMany(s => s.Coefficients)];
        return new LawDraws([.. Evenly(weights, total).Select(i => Make(evidence, coefficients[i]))], effective);
    }

    private static Draw Make(LawEvidence evidence, double[] coefficients) => new(
        new LossLaw([.. LossLaw.Exponents.Select((p, k) => new LawTerm(p, coefficients[k])).Where(t => t.Coefficient > 0)]), evidence.LastRadPerS(coefficients));

    /// <summary>Places in a list, each as often as its weight asks.</summary>
    internal static IEnumerable<int> Evenly(double[] weights, double total)
    {
        (double passed, int i) = (weights[0], 0);
        for (int k = 0; k < Kept; k++)
        {
            double at = total * (k + 0.5) / Kept;
            while (passed < at && i < weights.Length - 1)
                passed += weights[++i];
            yield return i;
        }
    }
}
