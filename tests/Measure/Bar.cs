using System.Globalization;

namespace Acquire.Measure;

/// <summary>One figure beside the bar that it must meet.</summary>
/// <param name="What">What was measured, for people.</param>
/// <param name="Required">The bar, for people.</param>
/// <param name="Found">The figure, for people.</param>
/// <param name="Holds">Whether the figure meets the bar.</param>
public sealed record Figure(string What, string Required, string Found, bool Holds)
{
    private const double LeastShare = 0.93;
    private const double MostShare = 0.97;
    private const double NotByChance = 0.999;

    /// <summary>Whether the figure meets the bar or misses it by no more than chance explains for so few runs. What chance has no part in, or
    /// what is sure enough with few runs, does so only where it holds.</summary>
    public bool MayHold { get; init; } = Holds;

    /// <summary>Whether a bar speaks of the figure.</summary>
    public bool HasBar => Required is not ("no bar" or "reported");

    /// <summary>How often stated 95 % intervals hold the truth: 93 to 97 % of the cases.</summary>
    /// <param name="what">What was measured.</param>
    /// <param name="held">Cases in which the interval held.</param>
    /// <param name="cases">All cases.</param>
    /// <param name="runs">Runs that the cases are from: those of one run share its marks, so that chance counts runs.</param>
    /// <param name="more">More to say of the figure.</param>
    public static Figure Interval(string what, int held, int cases, int runs, string more = "")
    {
        double share = (double)held / cases;
        bool may = Binomial.AtMost((int)Math.Round(share * runs), runs, LeastShare) > 1 - NotByChance
            && Binomial.AtLeast((int)Math.Round(share * runs), runs, MostShare) > 1 - NotByChance;
        return new Figure(what, "93–97 %", Share(held, cases) + more, share is >= LeastShare and <= MostShare) { MayHold = may };
    }

    /// <summary>The same where more is no fault.</summary>
    public static Figure AtLeast(string what, int held, int cases) =>
        new(what, ">= 93 %", Share(held, cases), held >= LeastShare * cases) { MayHold = Binomial.AtMost(held, cases, LeastShare) > 1 - NotByChance };

    /// <summary>A share of independent cases that has a bar of its own.</summary>
    /// <param name="what">What was measured.</param>
    /// <param name="required">The bar, for people.</param>
    /// <param name="held">Cases that are as they should be.</param>
    /// <param name="cases">All cases; where there are none nothing is missed.</param>
    /// <param name="least">The bar: at least this share.</param>
    /// <param name="most">At most this share.</param>
    public static Figure Of(string what, string required, int held, int cases, double least, double most = 1) =>
        new(what, required, cases == 0 ? "of none" : Share(held, cases), held >= least * cases && held <= most * cases)
        {
            MayHold = (least >= 1 ? held == cases : Binomial.AtMost(held, cases, least) > 1 - NotByChance) && (most >= 1 || Binomial.AtLeast(held, cases, most) > 1 - NotByChance),
        };

    /// <summary>The same figure, of which no bar speaks.</summary>
    public Figure Beyond() => this with { Required = "no bar", Holds = true, MayHold = true };

    private static string Share(int held, int cases) => string.Create(CultureInfo.InvariantCulture, $"{100.0 * held / cases:F1} % of {cases}");
}

/// <summary>Tails of the binomial distribution.</summary>
internal static class Binomial
{
    /// <summary>Probability of <paramref name="held"/> or fewer of <paramref name="cases"/>.</summary>
    public static double AtMost(int held, int cases, double share) => Sum(0, held, cases, share);

    /// <summary>Probability of <paramref name="held"/> or more.</summary>
    public static double AtLeast(int held, int cases, double share) => Sum(held, cases, cases, share);

    private static double Sum(int from, int to, int cases, double share)
    {
        double sum = 0;
        double log = cases * Math.Log(1 - share);
        for (int k = 0; k <= to; k++)
        {
            sum += k >= from ? Math.Exp(log) : 0;
            log += Math.Log((cases - k) / (k + 1.0) * share / (1 - share));
        }

        return sum;
    }
}

/// <summary>The seeds that an ensemble runs: what was tuned on some is checked on others.</summary>
/// <param name="First">The first.</param>
/// <param name="Count">How many.</param>
public readonly record struct Seeds(int First, int Count)
{
    /// <summary>What <paramref name="of"/> gives for each seed, in their order; worked out on all cores.</summary>
    public T[] Each<T>(Func<int, T> of)
    {
        int first = First;
        var each = new T[Count];
        Parallel.For(0, Count, i => each[i] = of(first + i));
        return each;
    }
}

/// <summary>An ensemble of simulated runs with known truth that measures one or more bars.</summary>
/// <param name="Name">What <c>--only</c> names it by.</param>
/// <param name="About">What it simulates, for people.</param>
/// <param name="Measure">Runs the seeds and gives the figures.</param>
/// <param name="Sample">The few seeds of <c>--sample</c>.</param>
public sealed record Ensemble(string Name, string About, Func<Seeds, IReadOnlyList<Figure>> Measure, Seeds Sample);
