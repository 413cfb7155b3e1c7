using Acquire.Results.Comparison;
using Acquire.Results.Planning;
using Acquire.Results.Statistics;
using MathNet.Numerics.Random;

namespace Acquire.Measure.Ensembles;

/// <summary>Whether the repeats that a plan advises find the difference that they were planned for, with the probability stated: by the test that compare
/// makes, on runs drawn with known scatter and difference. The scatter is known exactly, or from a library of a few repeated set-ups.</summary>
internal static class PlanEnsemble
{
    private const int PerSeed = 20;
    private const double Level = 0.05;
    private const double Most = 0.9; // repeats are whole numbers, so that more is found than asked for

    public static readonly Ensemble Ensemble = new(
        "plan", $"{PerSeed} plans a seed for differences of 0.7 to 3 times the scatter (0.4 to 3 %), 80 % power; libraries of 2 × 3 to 8 × 4 runs", Measure, new Seeds(0, 10));

    private readonly record struct Outcome(bool FoundKnown, bool FoundLibrary, bool FoundPlain, bool FalseAlarm, bool Held, int Repeats);

    private static List<Figure> Measure(Seeds seeds)
    {
        Outcome[] all = [.. seeds.Each(s => Enumerable.Range(0, PerSeed).Select(i => One(new MersenneTwister((1000 * s) + i + 1, threadSafe: false))).ToArray()).SelectMany(o => o)];
        int n = all.Length;
        return
        [
            Figure.Of("difference found, scatter known", "80–90 %", all.Count(o => o.FoundKnown), n, 0.8, Most),
            Figure.Of("difference found, scatter from the library", "80–90 %", all.Count(o => o.FoundLibrary), n, 0.8, Most),
            Figure.Of("the same had the library's scatter been taken as exact", "reported", all.Count(o => o.FoundPlain), n, 0).Beyond(),
            Figure.Of("difference found where there is none", "4–6 %", all.Count(o => o.FalseAlarm), n, 0.04, 0.06),
            Figure.AtLeast("repeats needed lie in the range stated, whose ends are whole numbers", all.Count(o => o.Held), n),
        ];
    }

    private static Outcome One(Random random)
    {
        double sd = 0.004 * Math.Pow(7.5, random.NextDouble());
        double difference = sd * 0.7 * Math.Pow(3 / 0.7, random.NextDouble());
        (int setups, int runs)[] libraries = [(2, 3), (5, 3), (8, 4)];
        (int setups, int runs) library = libraries[random.Next(3)];
        Repeatability scatter = Repeatability.Of(Enumerable.Range(0, library.setups).Select(g => Draw(random, 0.1 * g, sd, library.runs)));
        var known = new RepeatsNeeded(difference, new KnownScatter(sd, double.PositiveInfinity), Level, 0.8);
        var planned = new RepeatsNeeded(difference, new KnownScatter(scatter.Sd, scatter.DegreesOfFreedom), Level, 0.8);
        int needed = known.AsItIs!.Value;
        int advised = planned.Advised ?? Power.MostRuns;
        return new Outcome(
            Found(random, difference, sd, needed), Found(random, difference, sd, advised), Found(random, difference, sd, planned.AsItIs ?? Power.MostRuns),
            Found(random, 0, sd, advised), needed >= planned.AtLeast && needed <= (planned.AtMost ?? Power.MostRuns), advised);
    }

    // As compare finds it.
    private static bool Found(Random random, double difference, double sd, int repeats)
    {
        LogTime[] Group(double mean) => [.. Draw(random, mean, sd, repeats).Select(v => new LogTime(v, 1e-6))];
        return Change.Of(Group(6), Group(6 + difference), default)!.IsShown;
    }

    private static double[] Draw(Random random, double mean, double sd, int count) => [.. Enumerable.Range(0, count).Select(_ => mean + (sd * Normal(random)))];

    private static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
