using Acquire.Results.Statistics;
using MathNet.Numerics.Distributions;

namespace Acquire.Results.Planning;

/// <summary>How often each of two set-ups must be spun so that a difference between them is most likely found.</summary>
/// <remarks>By the power of the two-sided t test of two groups of equal size on logarithms of times; no more than <see cref="Power.MostRuns"/> are
/// looked for, beyond that a number is null.</remarks>
/// <param name="Difference">The difference of the logarithms that is to be found.</param>
/// <param name="Scatter">How runs of one set-up scatter; infinitely many degrees of freedom where it is taken as known.</param>
/// <param name="Level">Level of the test, such as 0.05.</param>
/// <param name="Probability">Probability of finding it, such as 0.8.</param>
public sealed record RepeatsNeeded(double Difference, KnownScatter Scatter, double Level, double Probability)
{
    /// <summary>Repeats if runs scatter just so.</summary>
    public int? AsItIs => Power.RunsNeeded(Difference, Scatter.Sd, Level, Probability);

    /// <summary>Repeats at the lower end of the scatter's 95 % interval.</summary>
    public int? AtLeast => Power.RunsNeeded(Difference, Scatter.LowSd, Level, Probability);

    /// <summary>Repeats at its upper end.</summary>
    public int? AtMost => Power.RunsNeeded(Difference, Scatter.HighSd, Level, Probability);

    /// <summary>Repeats with which the probability holds as a mean over what the scatter may be, given the runs that it is known from: more than
    /// <see cref="AsItIs"/> where they are few.</summary>
    public int? Advised => double.IsInfinity(Scatter.DegreesOfFreedom) ? AsItIs : Search(MeanPower);

    /// <summary>The probability that so many repeats find it, as a mean over what the scatter may be.</summary>
    /// <param name="repeats">Repeats of each set-up, two or more.</param>
    public double MeanPower(int repeats)
    {
        double Of(double sd) => Power.Of(Difference, sd, repeats, repeats, (2 * repeats) - 2, Level);
        return double.IsInfinity(Scatter.DegreesOfFreedom) ? Of(Scatter.Sd)
            : NoncentralT.ByScale(Scatter.DegreesOfFreedom, s => Of(Scatter.Sd / s));
    }

    private int? Search(Func<int, double> power)
    {
        (int few, int enough) = (1, Power.MostRuns);
        if (power(enough) < Probability)
            return null;
        while (enough - few > 1)
        {
            int middle = (few + enough) / 2;
            if (power(middle) >= Probability)
                enough = middle;
            else
                few = middle;
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

    private double At(double share) => double.IsInfinity(DegreesOfFreedom) ? Sd : Sd * Math.Sqrt(DegreesOfFreedom / ChiSquared.InvCDF(DegreesOfFreedom, share));
}
