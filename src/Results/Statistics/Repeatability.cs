namespace Acquire.Results.Statistics;

/// <summary>How runs of one set-up scatter: the variance within groups, pooled over them.</summary>
/// <param name="Variance">The variance within a group; NaN where no group has two runs.</param>
/// <param name="DegreesOfFreedom">Runs less groups, over the groups of two or more.</param>
/// <param name="Groups">Groups of two or more.</param>
/// <param name="Runs">Runs in them.</param>
public readonly record struct Repeatability(double Variance, int DegreesOfFreedom, int Groups, int Runs)
{
    /// <summary>Standard deviation of one run.</summary>
    public double Sd => Math.Sqrt(Variance);

    /// <summary>Whether there is any.</summary>
    public bool IsKnown => DegreesOfFreedom > 0;

    /// <summary>Pools the groups; those of one run tell nothing and are passed over.</summary>
    public static Repeatability Of(IEnumerable<IReadOnlyCollection<double>> groups)
    {
        Sample[] samples = [.. groups.Where(g => g.Count > 1).Select(Sample.Of)];
        int degrees = samples.Sum(s => s.Count - 1);
        double variance = degrees > 0 ? samples.Sum(s => s.Variance * (s.Count - 1)) / degrees : double.NaN;
        return new Repeatability(variance, degrees, samples.Length, samples.Sum(s => s.Count));
    }
}

/// <summary>Whether groups differ at all: the variance between them against that within (one-way analysis of variance).</summary>
/// <param name="Between">Sum of squares between groups.</param>
/// <param name="Within">Sum of squares within groups.</param>
/// <param name="DegreesBetween">Groups less one.</param>
/// <param name="DegreesWithin">Values less groups.</param>
public readonly record struct Anova(double Between, double Within, int DegreesBetween, int DegreesWithin)
{
    /// <summary>The ratio of the two mean squares.</summary>
    public double F => Between / DegreesBetween / (Within / DegreesWithin);

    /// <summary>Probability of so large a ratio where the groups do not differ; NaN where nothing is repeated.</summary>
    public double P => DegreesWithin < 1 || DegreesBetween < 1 || !(Within > 0)
        ? double.NaN
        : 1 - MathNet.Numerics.Distributions.FisherSnedecor.CDF(DegreesBetween, DegreesWithin, F);

    /// <summary>Finds it.</summary>
    /// <param name="groups">The groups, none empty.</param>
    public static Anova Of(IReadOnlyCollection<IReadOnlyCollection<double>> groups)
    {
        Sample[] samples = [.. groups.Select(Sample.Of)];
        int n = samples.Sum(s => s.Count);
        double mean = samples.Sum(s => s.Mean * s.Count) / n;
        double within = groups.Zip(samples, (g, s) => g.Sum(v => (v - s.Mean) * (v - s.Mean))).Sum();
        return new Anova(samples.Sum(s => s.Count * (s.Mean - mean) * (s.Mean - mean)), within, samples.Length - 1, n - samples.Length);
    }
}
