using System.Globalization;
using Acquire.Acquisition.Simulation;
using Acquire.Conditioning;

namespace Acquire.Measure.Ensembles;

/// <summary>Measures the bar of the lost signal: the sensor is away for up to ten minutes of a long spin, and the marks come back.</summary>
internal static class LostEnsemble
{
    public static readonly Ensemble Lost = new(
        "lost", "long spins, the sensor away once for 5 to 600 s, wobble and jitter; and what is no spin at all", Measure, new Seeds(0, 24));

    private sealed record Outcome(bool SameRun, bool Recorded, double Off, double U, string Note);

    private static List<Figure> Measure(Seeds seeds)
    {
        Outcome[] outcomes = seeds.Each(Play);
        int[] falseRuns = (seeds with { Count = Math.Max(1, seeds.Count / 2) }).Each(LostNothing.Runs);
        foreach (Outcome o in outcomes.Where(o => o.Note.Length > 0))
            Console.Error.WriteLine(o.Note);
        int same = outcomes.Count(o => o.SameRun);
        int recorded = outcomes.Count(o => o.Recorded);
        var counted = outcomes.Where(o => o.Recorded).ToList();
        int right = counted.Count(o => o.Off == 0);
        int held = counted.Count(o => Math.Abs(o.Off) <= Math.Max(0.5, 1.96 * o.U));
        return
        [
            new("same run after the loss", "all", Text($"{same} of {seeds.Count}"), same == seeds.Count),
            new("loss recorded with its turns", "all", Text($"{recorded} of {seeds.Count}"), recorded == seeds.Count),
            new("turns counted right, to the mark", "reported", Text($"{100.0 * right / Math.Max(1, counted.Count):F1} %"), true),
            Figure.AtLeast("turns within 1.96 u, or right where u is below a quarter mark", held, counted.Count),
            new("median u of the turns", "reported", Text($"{Median(counted):F2} turns"), true),
            new($"runs from lamp, hand or random pulses, {falseRuns.Length} x 10 min", "none", Text($"{falseRuns.Sum()}"), falseRuns.Sum() == 0),
        ];
    }

    private static double Median(List<Outcome> counted) =>
        counted.Count == 0 ? double.NaN : counted.Select(o => o.U).Order().ElementAt(counted.Count / 2);

    private static Outcome Play(int seed)
    {
        var noise = new SeededNoise(seed, 203);
        int marks = 1 + noise.Below(3);
        double awayS = Math.Exp(noise.Uniform(Math.Log(5), Math.Log(600)));
        SpinPlan plan = new SpinPlan
        {
            Pushes = [new(noise.Uniform(1200, 2500), noise.Uniform(0.3, 0.9))],
            ToppleRpm = noise.Uniform(120, 280),
        }.Lasting(noise.Uniform(1200, 2400));
        var scenario = new SpinScenario { Seed = seed, Spins = [plan], RestAfterS = 400 };
        SpinTruth truth = new SimulatedSpin(scenario).Spins[0];
        double fromS = noise.Uniform(truth.ReleaseS + 20, truth.ToppleS - awayS - 60);
        var simulated = new SimulatedSpin(scenario with
        {
            Sensor = new SensorSettings
            {
                MarkOffsetsTurns = SensorSettings.Evenly(marks, 0.06, seed),
                JitterS = noise.Uniform(2e-6, 40e-6),
                WobbleTurns = noise.Uniform(0, 0.006) / marks,
                MissProbability = noise.Uniform(0, 0.02),
                RandomGlintsPerTurn = noise.Uniform(0, 0.02),
                Blind = [new Blind(fromS, fromS + awayS)],
            },
        });
        var playback = new StopPlayback(scenario.Board.TickHz, marks);
        playback.Play(simulated, []);
        return Compare(seed, marks, awayS, playback, fromS);
    }

    private static Outcome Compare(int seed, int marks, double awayS, StopPlayback playback, double fromS)
    {
        List<FoundRun> runs = playback.Runs();
        int marksSeen = playback.Pulses.Count(p => p.Truth.Origin == PulseOrigin.Mark);
        bool same = runs.Count == 1 && runs[0].Last - runs[0].First > 0.98 * marksSeen;
        if (runs.Count == 0)
            return new Outcome(false, false, 0, 0, $"{seed}: no run, {string.Join(" ", playback.Faults)}");
        FoundRun run = runs.MaxBy(r => r.Last - r.First)!;
        var own = playback.Pulses.Where(p => p.Truth.Origin == PulseOrigin.Mark).ToList();
        BoardPulse before = own.Last(p => p.Truth.TimeS < fromS);
        BoardPulse after = own.First(p => p.Truth.TimeS >= fromS + awayS);
        JudgedPulse? a = Find(run, before);
        JudgedPulse? b = Find(run, after);
        Bridge? bridge = run.Judged.Bridges.Where(x => x.FromTicks <= before.Pulse.Ticks + 1 && x.ToTicks >= after.Pulse.Ticks - 1)
            .Select(x => (Bridge?)x).FirstOrDefault();
        if (!same || a is null || b is null || bridge is null)
            return new Outcome(same, false, 0, 0, $"{seed}: runs {runs.Count}, away {awayS:F0} s, before {a?.Kind}, after {b?.Kind}, bridge {bridge is not null}");
        double truth = (double)(after.Truth.Mark - before.Truth.Mark) / marks;
        double off = Math.Round((b.Value.Turns - a.Value.Turns - truth) * marks);
        double u = bridge.Value.UTurns * marks;
        string note = Math.Abs(off) <= Math.Max(0.5, 1.96 * u) ? "" : Text($"{seed}: away {awayS:F0} s, {off} marks off, u {u:F2} marks, {marks} marks");
        return new Outcome(true, true, off, u, note);
    }

    private static JudgedPulse? Find(FoundRun run, BoardPulse pulse) =>
        run.Judged.Pulses.Where(p => p.Ticks == pulse.Pulse.Ticks && p.Kind == PulseKind.Mark).Select(p => (JudgedPulse?)p).FirstOrDefault();

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
