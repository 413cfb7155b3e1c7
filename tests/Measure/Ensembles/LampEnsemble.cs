using System.Globalization;
using Acquire.Acquisition.Simulation;
using Acquire.Conditioning;
using Acquire.Motion;
using Lamp = Acquire.Acquisition.Simulation.LampLight;

namespace Acquire.Measure.Ensembles;

/// <summary>Measures that light of a mains lamp is never a run, and is named with its frequency. Invented data.</summary>
internal static class LampEnsemble
{
    private const double WatchedS = 120;
    private const double NamedWithinS = 5;

    internal static readonly Ensemble Ensemble = new(
        "lamp", "light of a mains lamp, 100 or 120 Hz off by up to 0.2 %, any duty, some flashes unseen, body at rest or sensor misaimed", Measure, new Seeds(0, 24));

    private static List<Figure> Measure(Seeds seeds)
    {
        Watch[] watches = [.. seeds.Each(seed => Look(seed, Lamp.AtRest)), .. seeds.Each(seed => Look(seed, Lamp.Alone))];
        int runs = watches.Count(w => w.Runs > 0);
        int begun = watches.Count(w => w.Begun > 0);
        int unnamed = watches.Count(w => w.NamedShare < 0.99);
        double furthest = watches.Max(w => w.WorstHz);
        int spins = seeds.Each(IsNamedInASpin).Count(named => named);
        return
        [
            new("never a run", "none", Text($"{runs} of {watches.Length}"), runs == 0),
            new("never begins as one, not even to be dismissed", "none", Text($"{begun} of {watches.Length}"), begun == 0),
            new($"named in 99 % of the time from {NamedWithinS:F0} s on", "every seed", Text($"{watches.Length - unnamed} of {watches.Length}"), unnamed == 0),
            new("its frequency as named, furthest off", "0.05 Hz", Text($"{furthest:F3} Hz"), furthest <= 0.05),
            new("spins without a lamp in which one is named while they slow", "no bar", Text($"{spins} of {seeds.Count}"), true),
        ];
    }

    private static Watch Look(int seed, Lamp lamp)
    {
        var noise = new SeededNoise(seed, 80);
        double hz = (seed % 2 == 0 ? 100 : 120) * (1 + noise.Uniform(-0.002, 0.002));
        int marks = MarksScenario.MarksOf(seed);
        var scenario = new SpinScenario
        {
            Seed = seed,
            Spins = [new SpinPlan { RestBeforeS = WatchedS }],
            Sensor = new SensorSettings
            {
                MarkOffsetsTurns = SensorSettings.Evenly(marks),
                Lamp = lamp,
                LampHz = hz,
                LampDuty = noise.Uniform(0.03, 0.95),
                LampSeenProbability = (seed % 4) switch { 0 => 1, 1 => 0.97, 2 => 0.8, _ => 0.5 },
            },
            Board = new BoardSettings { SendsWidth = MarksScenario.GivesWidth(seed) },
        };
        return Watched(scenario, hz, marks);
    }

    private static Watch Watched(SpinScenario scenario, double hz, int marks)
    {
        var tracker = new MarkTracker(new TrackerSettings { TickHz = scenario.Board.TickHz, MarksPerTurn = marks });
        var detector = new RunDetector(new RunRules { TickHz = scenario.Board.TickHz });
        var light = new Conditioning.LampLight(scenario.Board.TickHz);
        var judged = new List<JudgedPulse>();
        var found = new List<RunTransition>();
        (double now, int named, int later, double worst) = (0, 0, 0, 0);
        foreach (BoardPulse pulse in new SimulatedSpin(scenario).BoardPulses().TakeWhile(p => p.Truth.TimeS < WatchedS))
        {
            for (; now < pulse.Truth.TimeS; now += 0.1)
                detector.PassTime((long)(now * scenario.Board.TickHz), true, found);
            judged.Clear();
            tracker.Add(pulse.Pulse, judged);
            foreach (JudgedPulse p in judged)
                detector.See(p, tracker, found);
            light.See(pulse.Pulse);
            if (pulse.Truth.TimeS < NamedWithinS)
                continue;
            later++;
            named += double.IsNaN(light.Hz) ? 0 : 1;
            worst = Math.Max(worst, double.IsNaN(light.Hz) ? 0 : Math.Abs(light.Hz - hz));
        }

        for (int i = 0; i < 1000; i++)
            detector.PassTime((long)((WatchedS + i) * scenario.Board.TickHz), true, found);
        return new Watch(
            found.Count(f => f.Kind == RunTransitionKind.Ended), found.Count(f => f.Kind == RunTransitionKind.Began), (double)named / later, worst);
    }

    private static bool IsNamedInASpin(int seed)
    {
        SpinScenario scenario = MarksScenario.Faulty(seed);
        var light = new Conditioning.LampLight(scenario.Board.TickHz);
        foreach (BoardPulse pulse in new SimulatedSpin(scenario).BoardPulses())
        {
            light.See(pulse.Pulse);
            if (!double.IsNaN(light.Hz))
                return true;
        }

        return false;
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);

    private readonly record struct Watch(int Runs, int Begun, double NamedShare, double WorstHz);
}
