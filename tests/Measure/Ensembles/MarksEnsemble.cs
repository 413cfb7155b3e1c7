using System.Globalization;
using Acquire.Acquisition.Simulation;

namespace Acquire.Measure.Ensembles;

/// <summary>Measures which pulses are taken for marks, and whether the turns are counted exactly.</summary>
internal static class MarksEnsemble
{
    private const double Bar = 0.999;
    private static readonly (string Name, Func<int, SpinScenario> Scenario)[] Further =
    [
        ("wobble, growing", MarksScenario.Wobbling),
        ("a bright place in 60-100 % of the turns", MarksScenario.BrightPlace),
        ("signal away for seconds, bursts of misses", MarksScenario.Lossy),
        ("three pushes, hand, marks into the fall, rolling", MarksScenario.Handled),
        ("lamp light until the launch", MarksScenario.LampAtRest),
        ("lamp mixed in", MarksScenario.LampMixedIn),
    ];

    internal static readonly Ensemble Ensemble = new(
        "marks", "misses and glints 3 % each, 1 to 8 marks up to 6 % off, bounce bursts, jitter, with widths and without", Measure, new Seeds(0, 12));

    private static List<Figure> Measure(Seeds seeds)
    {
        MarksScore[] scores = Scores(seeds, MarksScenario.Faulty);
        var figures = new List<Figure>
        {
            Right("pulses judged rightly after the run", scores, s => s.Wrong),
            Exact("turn count exact from the first mark that pulses can tell to the last", scores, s => s.TurnsOff),
            Beyond(Exact("turn count exact from the very first mark", scores, s => s.TurnsOffInAll)),
            Right("the same, run cut from the stream by the detector", scores, s => s.CutWrong),
            Exact("turn count exact, likewise", scores, s => s.CutTurnsOff),
            Beyond(Right("judged rightly live", scores, s => s.LiveWrong)),
            Beyond(Exact("turn count exact live", scores, s => s.LiveTurnsOff)),
        };
        foreach ((string name, Func<int, SpinScenario> scenario) in Further)
        {
            scores = Scores(seeds, scenario);
            figures.Add(Beyond(Right(name + ": judged rightly", scores, s => s.Wrong)));
            figures.Add(Beyond(Exact(name + ": turn count exact", scores, s => s.TurnsOff)));
            figures.Add(Beyond(Exact(name + ": turn count right within what gaps state", scores, s => s.BeyondStated)));
            figures.Add(Beyond(Right(name + ": judged rightly live", scores, s => s.LiveWrong)));
        }

        foreach ((int set, int onBody) in (ReadOnlySpan<(int, int)>)[(2, 1), (1, 2), (3, 2), (2, 3), (4, 2), (2, 4), (8, 4), (1, 1), (2, 2), (3, 3), (4, 4), (8, 8)])
            figures.Add(Seen(seeds, onBody, set));
        return figures;
    }

    // The bar is for the judgement after the run and for the faults it names; what else is measured has none.
    private static Figure Beyond(Figure figure) => figure with { Required = "no bar", Holds = true };

    // Whether a wrong number of marks in the set-up is noticed, and never a right one called wrong. Marks that sit as evenly as no hand sets
    // them, to some ten-thousandths of their spacing, look like one mark: such seeds tell nothing and are left out.
    private static Figure Seen(Seeds seeds, int onBody, int set)
    {
        int[] seen = seeds.Each(seed => IsUneven(seed, onBody) ? MarksScore.MarksSeen(MarksScenario.OfMarks(seed, onBody), set) : -1);
        int of = seen.Count(s => s >= 0);
        int right = seen.Count(s => s == onBody);
        int called = seen.Count(s => s > 0 && s != set);
        string found = Text($"called wrong {called}, number told {right} of {of}");
        return set == onBody
            ? new Figure(Text($"{set} set and on the body"), "never called wrong", found, called == 0)
            : Figure.Of(Text($"{set} set where {onBody} on the body"), "called wrong >= 99 %", called, of, 0.99) with { Found = found };
    }

    private static bool IsUneven(int seed, int marks)
    {
        const double Least = 1e-3;
        IReadOnlyList<double> places = MarksScenario.OfMarks(seed, marks).Sensor.MarkOffsetsTurns;
        return marks == 1 || Enumerable.Range(1, marks - 1).Any(i => Math.Abs((places[i] * marks) - i) > Least);
    }

    private static MarksScore[] Scores(Seeds seeds, Func<int, SpinScenario> scenario) => seeds.Each(seed => MarksScore.Of(seed, scenario(seed)));

    private static Figure Right(string what, MarksScore[] scores, Func<MarksScore, int> wrong)
    {
        double pooled = 1 - ((double)scores.Sum(wrong) / scores.Sum(s => s.Pulses));
        int worst = Enumerable.Range(0, scores.Length).MaxBy(i => (double)wrong(scores[i]) / scores[i].Pulses);
        double least = 1 - ((double)wrong(scores[worst]) / scores[worst].Pulses);
        return new Figure(what, ">= 99.9 %", Text($"{100 * pooled:F3} %, worst seed {scores[worst].Seed}: {100 * least:F2} %"), pooled >= Bar);
    }

    private static Figure Exact(string what, MarksScore[] scores, Func<MarksScore, double> off)
    {
        int[] bad = [.. Enumerable.Range(0, scores.Length).Where(i => off(scores[i]) != 0)];
        string which = bad.Length == 0 ? "" : Text($" (not {string.Join(", ", bad.Take(6).Select(i => scores[i].Seed))}{(bad.Length > 6 ? "…" : "")})");
        return new Figure(what, "every seed", Text($"{scores.Length - bad.Length} of {scores.Length}{which}"), bad.Length == 0);
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
