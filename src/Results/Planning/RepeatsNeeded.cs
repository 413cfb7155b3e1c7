using Acquire.Results.Statistics;
using MathNet.Numerics.Distributions;
using MathNet.Numerics.Integration;

namespace Acquire.Results.Planning;

/// <summary>How often each of two set-ups must be spun so that a difference between them is most likely found.</summary>
/// <remarks>By the power of Welch's two-sided test of two groups of equal size on logarithms of times, which is how runs are compared; no more than
/// <see cref="Power.MostRuns"/> are looked for, beyond that a number is null.</remarks>
/// <param name="Difference">The difference of the logarithms that is to be found, not 0.</param>
/// <param name="Scatter">How runs of one set-up scatter; infinitely many degrees of freedom where it is taken as known.</param>
/// <param name="Level">Level of the test, such as 0.05.</param>
/// <param name="Probability">Probability of finding it, such as 0.8.</param>
public sealed record RepeatsNeeded(double Difference, KnownScatter Scatter, double Level, double Probability)
{
    private static readonly GaussLegendreRule Rule = new(0, 1, 24);

    /// <summary>Repeats by Student's test, which takes the scatter of both for one, if runs scatter just so: what tables and R's power.t.test give.</summary>
    public int? ByStudent => Power.RunsNeeded(Difference, Scatter.Sd, Level, Probability);

    /// <summary>Repeats if runs scatter just so.</summary>
    public int? AsItIs => At(Scatter.Sd);

    /// <summary>Repeats at the lower end of the scatter's 95 % interval.</summary>
    public int? AtLeast => At(Scatter.LowSd);

    /// <summary>Repeats at its upper end.</summary>
    public int? AtMost => At(Scatter.HighSd);

    /// <summary>Repeats with which the probability holds as a mean over what the scatter may be, given the runs that it is known from: more than
    /// <see cref="AsItIs"/> where they are few.</summary>
    public int? Advised => double.IsInfinity(Scatter.DegreesOfFreedom) ? AsItIs : Search(MeanPower);

    /// <summary>The probability that so many repeats find it, as a mean over what the scatter may be.</summary>
    /// <param name="repeats">Repeats of each set-up, two or more.</param>
    public double MeanPower(int repeats)
    {
        double sum = 0;
        for (int i = 0; i < Rule.Order; i++)
            sum += Rule.GetWeight(i) * WelchPower.Of(Difference, Scatter.At(Rule.GetAbscissa(i)), repeats, Level);
        return sum;
    }

    private int? At(double sd) => Search(n => WelchPower.Of(Difference, sd, n, Level));

    // In steps that double from the fewest, since each look costs more than those before.
    private int? Search(Func<int, double> power)
    {
        (int few, int enough) = (1, 2);
        while (power(enough) < Probability)
        {
            if (enough == Power.MostRuns) return null;
            (few, enough) = (enough, Math.Min(2 * enough, Power.MostRuns));
        }

        while (enough - few > 1)
        {
            int middle = (few + enough) / 2;
            if (power(middle) >= Probability) enough = middle;
            else few = middle;
        }

        return enough;
    }
}

/// <summary>The scatter of runs of one set-up, with what is known of it.</summary>
/// <param name="Sd">Standard deviation of the logarithm of a run's time.</param>
/// <param name="DegreesOfFreedom">What it rests on; infinite where it is taken as known.</param>
public readonly record struct KnownScatter(double Sd, double DegreesOfFreedom)
{
    /// <summary>Lower end of its 95 % interval (χ², normal scatter).</summary>
    public double LowSd => At(0.975);

    /// <summary>Upper end.</summary>
    public double HighSd => At(0.025);

    /// <summary>What it may be: a share of the cases lies above.</summary>
    public double At(double share) => double.IsInfinity(DegreesOfFreedom) ? Sd : Sd * Math.Sqrt(DegreesOfFreedom / ChiSquared.InvCDF(DegreesOfFreedom, share));
}
