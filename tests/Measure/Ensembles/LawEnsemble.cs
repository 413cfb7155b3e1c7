using System.Collections.Concurrent;
using System.Globalization;
using Acquire.Results;
using Acquire.Results.Losses;

namespace Acquire.Measure.Ensembles;

/// <summary>How often the 95 % intervals of what a loss law says hold the truth.</summary>
internal static class LawEnsemble
{
    private const double Rpm = Math.PI / 30;
    private const double FromRpm = 2000;
    private const double ToRpm = 500;
    private static readonly double[] Wobbles = [0, 0.001, 0.003];
    private static readonly double[] ShareRpm = [600, 1000, 1800];

    private static readonly string[] Kinds =
    [
        "decay time 2000 to 500 rpm", "decay time by the law", "deceleration by the law", "share, term told apart",
        "share, terms not told apart together", "share, every candidate term", "coefficient of the law chosen",
    ];

    public static Ensemble Make() => new(
        "law", "95 % intervals of decay time from 2000 to 500 rpm and of what the fitted loss law says; six laws, 1 to 4 marks", Measure, new Seeds(0, 6));

    private static List<Figure> Measure(Seeds seeds)
    {
        var figures = new List<Figure>();
        var all = new ConcurrentBag<(string Kind, double Z)>();
        foreach (double wobble in Wobbles)
        {
            var here = new ConcurrentBag<(string Kind, double Z)>();
            Parallel.For(seeds.First, seeds.First + seeds.Count, seed => Deviations(LawSpin.Of(seed, wobble), seed, (kind, z) => here.Add((kind, z))));
            foreach (string kind in Kinds.Take(2))
            {
                Figure figure = Of($"{kind}, wobble {wobble.ToString(CultureInfo.InvariantCulture)} turns", kind, here, seeds.Count);
                figures.Add(wobble == 0 ? figure : figure.Beyond());
            }

            foreach ((string, double) z in here)
                all.Add(z);
        }

        // What the marks do not tell apart has no bar: shares have one where they can be identified.
        figures.AddRange(Kinds.Select(k => Of($"{k}, all", k, all, Wobbles.Length * seeds.Count)).Select(f => f.What.Contains("not told apart", StringComparison.Ordinal) ? f.Beyond() : f));
        double[] told = [.. all.Where(z => z.Kind == "told").Select(z => z.Z)];
        figures.Add(Figure.Of("the true law is the chosen one or not told from it", "no bar", told.Count(z => z > 0), told.Length, 0).Beyond());
        double[] fits = [.. all.Where(z => z.Kind == "fit").Select(z => z.Z)];
        figures.Add(Figure.Of("a law was found", "all", fits.Count(z => z > 0), fits.Length, 1));
        return figures;
    }

    private static Figure Of(string what, string kind, IEnumerable<(string Kind, double Z)> from, int runs)
    {
        double[] z = [.. from.Where(f => f.Kind == kind).Select(f => f.Z)];
        double rms = Math.Sqrt(z.Select(v => v * v).Order().Take(z.Length - (z.Length / 50)).DefaultIfEmpty(0).Average());
        return Figure.Interval(what, z.Count(v => Math.Abs(v) <= 1.96), Math.Max(1, z.Length), Math.Min(runs, Math.Max(1, z.Length)),
            string.Create(CultureInfo.InvariantCulture, $", rms of the lower 98 % {rms:F2}"));
    }

    private static void Deviations(LawSpin run, int seed, Action<string, double> add)
    {
        double truth = run.TrueDecayS(FromRpm, ToRpm);
        if (DecayTime.Between(run.Estimate.Speed, run.Estimate.ReleaseS, FromRpm, ToRpm, 0) is { } decay)
            add(Kinds[0], (decay.Seconds - truth) / decay.USeconds);
        add("fit", run.Law is null ? 0 : 1);
        if (run.Law is not { } law)
            return;
        void Held(int kind, Estimate found, double trueValue) => add(Kinds[kind], (found.Value - trueValue) / found.U);
        Held(1, law.TimeBetween(FromRpm * Rpm, ToRpm * Rpm), truth);
        double rpm = ShareRpm[seed % ShareRpm.Length];
        Held(2, law.Deceleration(rpm * Rpm), run.TrueDeceleration(rpm));
        foreach (IReadOnlyList<double> group in law.Groups.Where(g => g.Count > 1 || !law.MayBeAbsent(g)))
            Held(group.Count == 1 ? 3 : 4, law.Share(group, rpm * Rpm), run.TrueShare(group, rpm));
        foreach (double p in law.Candidates.SelectMany(c => c.Law.Terms.Select(t => t.Exponent)).Distinct())
            Held(5, law.Share([p], rpm * Rpm), run.TrueShare([p], rpm));
        foreach (LawTerm term in law.Law.Terms)
            Held(6, law.Coefficient(term.Exponent), run.TrueCoefficient(term.Exponent));
        add("told", law.Candidates.Any(c => c.Behind < 4 && c.Law.Terms.Select(t => t.Exponent).SequenceEqual(run.TrueExponents)) ? 1 : 0);
    }
}
