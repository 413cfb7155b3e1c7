using MathNet.Numerics.Integration;

namespace Acquire.Results.Statistics;

/// <summary>Power of Welch's test of two groups of equal size whose runs scatter alike, which is what comparisons of runs make. With few runs it finds less
/// than Student's test, since it does not know that they do.</summary>
/// <remarks>Of two groups of n the statistic is Student's own; only its degrees of freedom, (n−1)/(r² + (1−r)²), hang on the share r of the first
/// variance in the sum of both. r is independent of that sum and of the means, and has the beta distribution with (n−1)/2 twice; so the power is a mean of
/// Student's over r. With r = sin²φ the density of φ goes as (sin φ cos φ)^(n−2).</remarks>
public static class WelchPower
{
    private const int AlikeFrom = 60; // beyond so many runs the two tests differ by less than 1e-4
    private static readonly GaussLegendreRule Rule = new(0, Math.PI / 4, 8);

    /// <summary>Probability that the two-sided test finds a difference.</summary>
    /// <param name="difference">The true difference.</param>
    /// <param name="sd">Standard deviation of one run, above 0.</param>
    /// <param name="runs">Runs in each group, two or more.</param>
    /// <param name="level">Level of the test, as 0.05.</param>
    public static double Of(double difference, double sd, int runs, double level)
    {
        double degrees = (2 * runs) - 2;
        if (runs >= AlikeFrom) return Power.Of(difference, sd, runs, runs, degrees, level);
        double shift = Math.Abs(difference) / (sd * Math.Sqrt(2.0 / runs));
        double Found(double limit) => 1 - NoncentralT.Below(limit, degrees, shift) + NoncentralT.Below(-limit, degrees, shift);
        return MeanOver(runs, freedom => Found(Student.Quantile(1 - (level / 2), freedom)));
    }

    /// <summary>The smallest true difference that it finds with a stated probability.</summary>
    /// <param name="sd">Standard deviation of one run.</param>
    /// <param name="runs">Runs in each group, two or more.</param>
    /// <param name="level">Level of the test.</param>
    /// <param name="power">Probability of finding it.</param>
    public static double SmallestShown(double sd, int runs, double level, double power)
    {
        (double low, double high) = (0, sd);
        while (Of(high, sd, runs, level) < power) high *= 2;
        for (int i = 0; i < 40 && high - low > 1e-7 * high; i++)
        {
            double middle = 0.5 * (low + high);
            if (Of(middle, sd, runs, level) < power) low = middle;
            else high = middle;
        }

        return high;
    }

    private static double MeanOver(int runs, Func<double, double> ofFreedom)
    {
        (double sum, double weights) = (0, 0);
        for (int i = 0; i < Rule.Order; i++)
        {
            double angle = Rule.GetAbscissa(i);
            double weight = Rule.GetWeight(i) * Math.Pow(Math.Sin(2 * angle), runs - 2);
            double share = Math.Sin(angle) * Math.Sin(angle);
            sum += weight * ofFreedom((runs - 1) / ((share * share) + ((1 - share) * (1 - share))));
            weights += weight;
        }

        return sum / weights;
    }
}
