using MathNet.Numerics;
using MathNet.Numerics.Distributions;
using MathNet.Numerics.Integration;

namespace Acquire.Results.Statistics;

/// <summary>Which of several groups may be the best: multiple comparisons with the best (Hsu 1984, Annals of Statistics 12, 1136), by
/// Dunnett's one-sided limit (Dunnett 1955, Journal of the American Statistical Association 50, 1096) for groups of any size.</summary>
public static class MultipleBest
{
    private static readonly GaussLegendreRule Across = new(-6.5, 6.5, 48);

    /// <summary>For each group whether it may be the one with the highest mean, all of these statements together at the level.</summary>
    /// <param name="means">The groups' means.</param>
    /// <param name="counts">Their numbers of runs, each one or more.</param>
    /// <param name="sd">Standard deviation of one run.</param>
    /// <param name="degreesOfFreedom">What that rests on.</param>
    /// <param name="level">As 0.95.</param>
    public static bool[] MayBeBest(IReadOnlyList<double> means, IReadOnlyList<int> counts, double sd, double degreesOfFreedom, double level)
    {
        var may = new bool[means.Count];
        var limits = new Dictionary<int, double>(); // the others of groups of one size are of the same sizes
        for (int i = 0; i < may.Length; i++)
        {
            int[] others = [.. Enumerable.Range(0, may.Length).Where(j => j != i)];
            if (!limits.TryGetValue(counts[i], out double limit))
                limit = limits[counts[i]] = others.Length == 0 ? 0 : DunnettLimit(counts[i], [.. others.Select(j => counts[j])], degreesOfFreedom, level);
            may[i] = others.All(j => means[i] - means[j] + (limit * sd * Math.Sqrt((1.0 / counts[i]) + (1.0 / counts[j]))) > 0);
        }

        return may;
    }

    /// <summary>Dunnett's one-sided limit: all differences to one group, each over its uncertainty, stay below it with the level's
    /// probability where there is no difference.</summary>
    /// <param name="control">Runs in the one group.</param>
    /// <param name="others">Runs in each of the others.</param>
    /// <param name="degreesOfFreedom">Of the common scatter.</param>
    /// <param name="level">As 0.95.</param>
    public static double DunnettLimit(int control, IReadOnlyList<int> others, double degreesOfFreedom, double level)
    {
        double[] shared = [.. others.Select(n => Math.Sqrt(n / (double)(n + control)))];
        double Probability(double limit) => NoncentralT.ByScale(degreesOfFreedom, s => AllBelow(limit * s, shared));
        return FindRoots.OfFunction(d => Probability(d) - level, 0, 200, 1e-7);
    }

    // Given the one group's own deviation z the differences are independent.
    private static double AllBelow(double limit, double[] shared)
    {
        double sum = 0;
        for (int i = 0; i < Across.Order; i++)
        {
            double z = Across.GetAbscissa(i);
            double product = Across.GetWeight(i) * Normal.PDF(0, 1, z);
            foreach (double r in shared)
                product *= Normal.CDF(0, 1, ((r * z) + limit) / Math.Sqrt(1 - (r * r)));
            sum += product;
        }

        return sum;
    }
}
