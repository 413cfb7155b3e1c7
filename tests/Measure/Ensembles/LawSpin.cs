using Acquire.Acquisition.Simulation;
using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Results.Losses;

namespace Acquire.Measure.Ensembles;

/// <summary>A simulated spin with a loss of several kinds, judged and estimated as a finished run is, and its law fitted. Invented data.</summary>
internal sealed class LawSpin
{
    private static readonly LossTerm[][] Losses =
    [
        [new(0, 0.02), new(1, 0.012), new(1.5, 0.02), new(2, 0.008)],
        [new(0, 0.03), new(1, 0.03)],
        [new(0, 0.03), new(1.8, 0.03)],
        [new(0, 0.01), new(1.5, 0.05)],
        [new(0, 0.04), new(2, 0.03)],
        [new(1, 0.02), new(2, 0.02)],
    ];

    private readonly SpinTruth _truth;

    private LawSpin(SpinTruth truth, SpinEstimate estimate, FittedLaw? law)
    {
        _truth = truth;
        Estimate = estimate;
        Law = law;
    }

    public SpinEstimate Estimate { get; }

    public FittedLaw? Law { get; }

    public double TrueDecayS(double fromRpm, double toRpm) => _truth.DecayTimeS(fromRpm, toRpm);

    public double TrueDeceleration(double rpm) => _truth.DecelerationRadPerS2(rpm);

    public double TrueCoefficient(double exponent) => _truth.Plan.Loss.FirstOrDefault(t => t.Exponent == exponent).DecelerationRadPerS2;

    public double TrueShare(IEnumerable<double> exponents, double rpm) =>
        exponents.Sum(p => TrueCoefficient(p) * Math.Pow(rpm / 1000, p)) / TrueDeceleration(rpm);

    public double[] TrueExponents => [.. _truth.Plan.Loss.Select(t => t.Exponent)];

    /// <summary>Peak 2200 to 3000 rpm, fall at 200 to 350, 4 to 40 min, 1 to 4 marks up to 6 % off, 3 to 100 µs of jitter, 0.5 % of the marks
    /// missed and as many glints.</summary>
    public static LawSpin Of(int seed, double wobbleTurns)
    {
        var noise = new SeededNoise(seed, 700);
        int marks = 1 + (seed % 4);
        SpinPlan plan = new SpinPlan
        {
            Pushes = [new Push(noise.Uniform(2200, 3000), noise.Uniform(0.4, 0.9))],
            Loss = Losses[noise.Below(Losses.Length)],
            ToppleRpm = noise.Uniform(200, 350),
        }.Lasting(240 * Math.Pow(marks > 2 ? 4 : 10, noise.Uniform()));
        var sensor = new SensorSettings
        {
            MarkOffsetsTurns = SensorSettings.Evenly(marks, marks > 1 ? 0.06 : 0, seed + 1),
            JitterS = 3e-6 * Math.Pow(30, noise.Uniform()),
            WobbleTurns = wobbleTurns,
            WobbleHzAt1000Rpm = noise.Uniform(0.3, 0.8),
            MissProbability = 0.005,
            RandomGlintsPerTurn = 0.005,
        };
        var spin = new SimulatedSpin(new SpinScenario { Seed = seed + 1, Spins = [plan], Sensor = sensor, RestAfterS = 5 });
        return Of(spin, spin.Scenario.Board.TickHz, marks);
    }

    private static LawSpin Of(SimulatedSpin spin, double tickHz, int marks)
    {
        JudgedRun run = RunJudge.Judge([.. spin.BoardPulses().Select(p => p.Pulse)], new TrackerSettings { TickHz = tickHz, MarksPerTurn = marks });
        run = GapBridge.Settle(run, 1 / tickHz, marks);
        SpinEstimate estimate = SpinEstimator.Estimate(MarkSeries.From(run.Pulses, 1 / tickHz), marks, 1);
        (double fromS, double toS) = SpinMarks.FreePart(estimate.ReleaseS, estimate.StopS);
        return new LawSpin(spin.Spins[0], estimate, LossLawFit.Of(SpinMarks.Of(run.Pulses, 1 / tickHz, fromS, toS), 0, estimate.Wobble?.ConstantPerS2));
    }
}
