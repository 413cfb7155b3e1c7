using MathNet.Numerics;
using MathNet.Numerics.Distributions;
using MathNet.Numerics.Integration;

namespace Acquire.Results.Statistics;

/// <summary>The distribution of a t that has a shift: (Z + δ) over the root of an independent χ²/ν.</summary>
public static class NoncentralT
{
    private const double Reach = 10; // standard deviations of s beyond which nothing is left
    private static readonly GaussLegendreRule Rule = new(0, 1, 128);

    /// <summary>Probability of less than <paramref name="t"/>, by integration over the root of χ²/ν; good to 1e-9.</summary>
    /// <param name="t">The value.</param>
    /// <param name="degreesOfFreedom">ν, above 0.</param>
    /// <param name="shift">δ.</param>
    public static double Below(double t, double degreesOfFreedom, double shift) =>
        ByScale(degreesOfFreedom, s => Normal.CDF(0, 1, (t * s) - shift));

    /// <summary>The mean of a function of s over the distribution of s = √(χ²/ν).</summary>
    internal static double ByScale(double degreesOfFreedom, Func<double, double> of)
    {
        if (double.IsInfinity(degreesOfFreedom))
            return of(1);
        double half = degreesOfFreedom / 2;
        double reach = Reach / Math.Sqrt(2 * degreesOfFreedom);
        double low = Math.Max(0, 1 - reach);
        double width = 1 + reach - low;
        double constant = Math.Log(2) + (half * Math.Log(half)) - SpecialFunctions.GammaLn(half);
        double sum = 0;
        for (int i = 0; i < Rule.Order; i++)
        {
            double s = low + (width * Rule.GetAbscissa(i));
            double density = Math.Exp(constant + ((degreesOfFreedom - 1) * Math.Log(s)) - (half * s * s));
            sum += Rule.GetWeight(i) * width * density * of(s);
        }

        return sum;
    }
}

/// <summary>What so many runs can show.</summary>
public static class Power
{
    /// <summary>Largest number of runs a group that is looked for.</summary>
    public const int MostRuns = 1000;

    /// <summary>Probability that a two-sided t test of two groups finds a difference.</summary>
    /// <param name="difference">The true difference.</param>
    /// <param name="sd">Standard deviation of one run.</param>
    /// <param name="first">Runs in the first group.</param>
    /// <param name="second">Runs in the second group.</param>
    /// <param name="degreesOfFreedom">Of the scatter; as a rule first + second − 2.</param>
    /// <param name="level">Level of the test, as 0.05.</param>
    public static double Of(double difference, double sd, int first, int second, double degreesOfFreedom, double level)
    {
        double shift = Math.Abs(difference) / (sd * Math.Sqrt((1.0 / first) + (1.0 / second)));
        double limit = Student.Quantile(1 - (level / 2), degreesOfFreedom);
        return 1 - NoncentralT.Below(limit, degreesOfFreedom, shift) + NoncentralT.Below(-limit, degreesOfFreedom, shift);
    }

    /// <summary>The smallest true difference that a test finds with a stated probability.</summary>
    /// <param name="u">Standard uncertainty of the difference.</param>
    /// <param name="degreesOfFreedom">What it rests on.</param>
    /// <param name="level">Level of the test.</param>
    /// <param name="power">Probability of finding it.</param>
    public static double SmallestShown(double u, double degreesOfFreedom, double level = 0.05, double power = 0.8)
    {
        if (!(u > 0))
            return 0;
        double limit = Student.Quantile(1 - (level / 2), degreesOfFreedom);
        double Missed(double shift) => 1 - NoncentralT.Below(limit, degreesOfFreedom, shift) + NoncentralT.Below(-limit, degreesOfFreedom, shift) - power;
        double high = limit + 3;
        while (Missed(high) < 0)
            high *= 2;
        return u * FindRoots.OfFunction(Missed, 0, high, 1e-8);
    }

    /// <summary>Runs that each of two groups needs so that a test finds a difference; null where it would take more than
    /// <see cref="MostRuns"/>.</summary>
    public static int? RunsNeeded(double difference, double sd, double level = 0.05, double power = 0.8)
    {
        bool Enough(int n) => Of(difference, sd, n, n, (2 * n) - 2, level) >= power;
        if (difference == 0 || !Enough(MostRuns))
            return null;
        (int few, int enough) = (1, MostRuns);
        while (enough - few > 1)
        {
            int middle = (few + enough) / 2;
            if (Enough(middle))
                enough = middle;
            else
                few = middle;
        }

        return enough;
    }
}
