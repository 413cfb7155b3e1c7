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
        "marks", "misses and glints 3 % each, 1 to 8 marks up to 6 % off, bounce bursts, jitter, with widths and without", Measure);

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
            figures.Add(Beyond(Right(name + ": judged rightly live", scores, s => s.LiveWrong)));
        }

        figures.Add(Seen("2 marks set where 1 is on the body", seeds, 1, 2));
        figures.Add(Seen("1 mark set where 2 are", seeds, 2, 1));
        figures.Add(Seen("3 marks set where 2 are", seeds, 2, 3));
        figures.Add(Seen("2 marks set where 3 are", seeds, 3, 2));
        figures.Add(Seen("2 marks set and on the body", seeds, 2, 2));
        return figures;
    }

    // The bar is for the judgement after the run and for the faults it names; what else is measured has none.
    private static Figure Beyond(Figure figure) => figure with { Required = "no bar", Holds = true };

    // Whether the number of marks on the body is told, whatever the set-up says; "cannot tell" is no answer.
    private static Figure Seen(string what, Seeds seeds, int onBody, int set)
    {
        int[] seen = seeds.Each(seed => MarksScore.MarksSeen(MarksScenario.OfMarks(seed, onBody), set));
        int right = seen.Count(s => s == onBody);
        int asSet = seen.Count(s => s == set && s != onBody);
        return new Figure(what + ": number of marks told", "no bar", Text($"right {right}, as set {asSet}, cannot tell or else {seeds.Count - right - asSet} of {seeds.Count}"), true);
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
