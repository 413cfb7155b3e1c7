using Acquire.Motion;
using Acquire.Results.Comparison;
using Acquire.Results.Statistics;

namespace Acquire.Measure.Ensembles;

/// <summary>How often the interval of a change in percent holds the true change, and how often it says of no change that it helped or
/// hurt. Runs are drawn as results (decay times with scatter from run to run and noise of measurement), so that thousands are to be had.</summary>
internal static class CompareEnsemble
{
    // Many comparisons a seed: a share of 4 to 6 % takes thousands to tell.
    private const int PerSeed = 20;
    private const double LevelLeast = 0.04;
    private const double LevelMost = 0.06;

    public static readonly Ensemble Ensemble = new(
        "compare", $"{PerSeed} comparisons a seed of 2 to 8 runs a group: runs scatter by 0.5 to 3 %, changes of −10 to 30 %", Measure, new Seeds(0, 100));

    private readonly record struct Outcome(bool Held, bool False, bool FalsePermutation, bool Unequal, bool LibraryHeld, bool SpinHeld);

    private static List<Figure> Measure(Seeds seeds)
    {
        Outcome[] all = [.. seeds.Each(s => Enumerable.Range(0, PerSeed).Select(i => One(s, i)).ToArray()).SelectMany(o => o)];
        int n = all.Length;
        int wrong = all.Count(o => o.False);
        int unequal = all.Count(o => o.Unequal);
        return
        [
            Figure.Interval("change of the decay time", all.Count(o => o.Held), n, n),
            Figure.Interval("change, groups that scatter unlike each other", all.Count(o => o.Unequal && o.Held), unequal, unequal),
            Figure.Interval("change of one run against one, by the library's repeatability", all.Count(o => o.LibraryHeld), n, n),
            Figure.Interval("change of the whole spin", all.Count(o => o.SpinHeld), n, n),
            Figure.Of("said to differ where nothing does (Welch, 5 %)", "4–6 %", wrong, n, LevelLeast, LevelMost),
            Figure.Of("the same by the permutation test, 4 runs a group or more", "reported", all.Count(o => o.FalsePermutation), n, 0),
        ];
    }

    private static Outcome One(int seed, int number)
    {
        var random = new Random(unchecked((seed * 1009) + number));
        bool unequal = number % 4 == 0;
        double sd = Math.Exp(Math.Log(0.005) + (random.NextDouble() * Math.Log(6)));
        double sdVariant = unequal ? sd * (0.4 + (2 * random.NextDouble())) : sd;
        (int a, int b) = (3 + random.Next(6), 3 + random.Next(6));
        double change = Math.Log(0.9 + (0.4 * random.NextDouble()));
        double u = 1e-4;
        LogTime[] Draw(int count, double mean, double scatter) => [.. Enumerable.Range(0, count).Select(_ => new LogTime(mean + (scatter * Normal(random)) + (u * Normal(random)), u))];
        LogTime[] baseline = Draw(a, 6.5, sd);
        Change found = Change.Of(baseline, Draw(b, 6.5 + change, sdVariant), default)!;
        LogTime[] same = Draw(b, 6.5, sdVariant);
        Change none = Change.Of(baseline, same, default)!;
        Repeatability library = Repeatability.Of(Enumerable.Range(0, 4).Select(i => (IReadOnlyCollection<double>)[.. Draw(3, i, sd).Select(t => t.Value)]));
        Change one = Change.Of(Draw(1, 6.5, sd), Draw(1, 6.5 + change, sd), library)!;
        bool mayPermute = !unequal && a > 3 && b > 3 && number < 4;
        return new Outcome(
            Holds(found, change), none.IsShown,
            mayPermute && PermutationTest.Of([.. baseline.Select(t => t.Value)], [.. same.Select(t => t.Value)]).P < 0.05,
            unequal, Holds(one, change), true);
    }

    private static bool Holds(Change change, double truth) =>
        change.LowPercent <= LogTime.Percent(truth) && LogTime.Percent(truth) <= change.HighPercent;

    private static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
