using Acquire.Acquisition.Simulation;
using Acquire.Conditioning;
using Acquire.Motion;

namespace Acquire.Measure.Ensembles;

/// <summary>A simulated spin of many kinds, judged and estimated as a finished run is, beside its truth. Invented data.</summary>
internal sealed class CoverageSpin
{
    private static readonly LossTerm[][] Laws =
    [
        [new(0, 0.02), new(1, 0.012), new(1.5, 0.02), new(2, 0.008)],
        [new(1, 0.05)],
        [new(0, 0.03), new(1.8, 0.03)],
        [new(0, 0.01), new(1.5, 0.05)],
        [new(0, 0.05)],
    ];

    private readonly double _firstS;

    private CoverageSpin(SimulatedSpin spin, double firstS, SpinEstimate estimate, double jitterS)
    {
        _firstS = firstS;
        Spin = spin;
        Estimate = estimate;
        JitterS = jitterS;
    }

    public SimulatedSpin Spin { get; }

    public SpinTruth Truth => Spin.Spins[0];

    public SpinEstimate Estimate { get; }

    public double JitterS { get; }

    public int Marks => Spin.Scenario.Sensor.MarkOffsetsTurns.Count;

    /// <summary>Precessions a second times turns a second.</summary>
    public double WobbleConstant => Spin.Scenario.Sensor.WobbleHzAt1000Rpm * 1000 / 60;

    /// <summary>True time from the first pulse of the run.</summary>
    public double TrueS(double scenarioS) => scenarioS - _firstS;

    public double TrueRpm(double timeS) => Spin.Motion.SpeedRpm(timeS + _firstS);

    public double TrueTurns(double timeS) => Spin.Motion.Turns(timeS + _firstS);

    public double SeenShare => 1 - Spin.Scenario.Sensor.MissProbability;

    public double TrueDecel(double timeS) => Truth.DecelerationRadPerS2(TrueRpm(timeS)) * 30 / Math.PI;

    /// <summary>The points of the grid between release and fall.</summary>
    public IReadOnlyList<SpeedPoint> FreePoints() =>
        [.. Estimate.Speed.Where(p => p.TimeS >= Math.Max(Estimate.ReleaseS, TrueS(Truth.ReleaseS)) && p.TimeS < TrueS(Truth.ToppleS) && !double.IsNaN(p.Rpm))];

    /// <summary>Peak 800 to 2500 rpm, fall at 150 to 300, 100 s to 40 min, 1 to 8 marks up to 6 % off, 3 to 100 µs of jitter, 0.5 % of
    /// the marks missed and as many glints.</summary>
    /// <param name="seed">The seed.</param>
    /// <param name="wobbleTurns">Amplitude at release; it grows eightfold.</param>
    /// <param name="judge">Whether marks are judged as in a run; else they are taken from the truth.</param>
    public static CoverageSpin Of(int seed, double wobbleTurns, bool judge) => Of(Scenario(seed, wobbleTurns), judge);

    /// <summary>The same, not played yet.</summary>
    public static SpinScenario Scenario(int seed, double wobbleTurns)
    {
        var noise = new SeededNoise(seed, 300);
        int marks = 1 + (seed % 8);
        double jitterS = 3e-6 * Math.Pow(30, noise.Uniform());
        double seconds = 100 * Math.Pow(marks > 2 ? 6 : 24, noise.Uniform());
        SpinPlan plan = new SpinPlan
        {
            Pushes = [new Push(noise.Uniform(800, 2500), noise.Uniform(0.4, 0.9))],
            Loss = Laws[noise.Below(Laws.Length)],
            ToppleRpm = noise.Uniform(150, 300),
        }.Lasting(seconds);
        var sensor = new SensorSettings
        {
            MarkOffsetsTurns = SensorSettings.Evenly(marks, marks > 1 ? 0.06 : 0, seed + 1),
            JitterS = jitterS,
            WobbleTurns = wobbleTurns,
            WobbleHzAt1000Rpm = noise.Uniform(0.3, 0.8),
            MissProbability = 0.005,
            RandomGlintsPerTurn = 0.005,
        };
        return new SpinScenario { Seed = seed + 1, Spins = [plan], Sensor = sensor, RestAfterS = 5 };
    }

    /// <summary>A scenario of its own.</summary>
    public static CoverageSpin Of(SpinScenario scenario, bool judge)
    {
        var spin = new SimulatedSpin(scenario);
        double tickHz = scenario.Board.TickHz;
        int marks = scenario.Sensor.MarkOffsetsTurns.Count;
        BoardPulse[] pulses = [.. spin.BoardPulses()];
        JudgedRun run = judge
            ? GapBridge.Settle(RunJudge.Judge([.. pulses.Select(p => p.Pulse)], new TrackerSettings { TickHz = tickHz, MarksPerTurn = marks }), 1 / tickHz, marks)
            : new JudgedRun([.. pulses.Where(p => p.Truth.Origin == PulseOrigin.Mark).Select(p => Told(p, scenario.Sensor))], 0, 0, [], []);
        SpinEstimate estimate = SpinEstimator.Estimate(MarkSeries.From(run.Pulses, 1 / tickHz), marks, 1);
        return new CoverageSpin(spin, (run.Pulses[0].Ticks + 0.5) / tickHz, estimate, scenario.Sensor.JitterS);
    }

    private static JudgedPulse Told(BoardPulse pulse, SensorSettings sensor)
    {
        (long turn, long mark) = Math.DivRem(pulse.Truth.Mark, sensor.MarkOffsetsTurns.Count);
        return new JudgedPulse(pulse.Pulse.Ticks, 0, PulseKind.Mark, (short)mark, turn + sensor.MarkOffsetsTurns[(int)mark]);
    }
}
