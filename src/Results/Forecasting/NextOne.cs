using Acquire.Results.Statistics;

namespace Acquire.Results.Forecasting;

/// <summary>What the next of a normal sample will be: Student's t about its mean.</summary>
/// <remarks>Of one or two the variance is, beforehand, thought to be about a usual one as if four more had said so (a conjugate prior: Gelman and others, Bayesian Data
/// Analysis, section 3.3, from memory), so that they give an answer too; of three and more the sample alone speaks.</remarks>
/// <param name="Mean">The mean.</param>
/// <param name="Scale">Scale of the t.</param>
/// <param name="Freedom">Its degrees of freedom.</param>
/// <param name="Count">How many of the sample were used.</param>
public readonly record struct NextOne(double Mean, double Scale, double Freedom, int Count)
{
    private const double Before = 4;
    private const int FewestToTell = 3;
    private const int FewestToDoubt = 8;
    private const double Far = 5;

    /// <summary>Works it out.</summary>
    /// <param name="sample">The sample, one at least. Of eight and more those are left out that lie far from the others.</param>
    /// <param name="usual">The usual standard deviation.</param>
    public static NextOne Of(IReadOnlyCollection<double> sample, double usual)
    {
        double[] used = [.. sample];
        if (used.Length >= FewestToDoubt)
            used = [.. used.Zip(Robust.ModifiedZ(used), (value, z) => (value, z)).Where(p => Math.Abs(p.z) <= Far).Select(p => p.value)];
        int n = used.Length;
        double mean = used.Average();
        double before = n < FewestToTell ? Before : 0;
        double freedom = before + n - 1;
        double variance = ((before * usual * usual) + used.Sum(v => (v - mean) * (v - mean))) / freedom;
        return new NextOne(mean, Math.Sqrt(variance * (1 + (1.0 / n))), freedom, n);
    }
}
