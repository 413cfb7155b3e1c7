using Acquire.Acquisition.Simulation;
using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Results.Forecasting;
using Acquire.Results.Losses;

namespace Acquire.Measure.Ensembles;

/// <summary>A simulated spin whose loss has terms drawn at random, of a top whose earlier ends are known, looked at while it is under way. Invented data.</summary>
internal sealed class ForecastSpin
{
    private static readonly double[] Exponents = [0, 1, 1.5, 1.8, 2];
    private readonly SimulatedSpin _spin;
    private readonly int _marks;

    private ForecastSpin(SimulatedSpin spin, int marks, double usualEndRpm, double endShare, double[] earlierRpm)
    {
        (_spin, _marks, UsualEndRpm, EndShare, EarlierRpm) = (spin, marks, usualEndRpm, endShare, earlierRpm);
    }

    /// <summary>Median of the speeds at which the top ends.</summary>
    public double UsualEndRpm { get; }

    /// <summary>Their spread, as a share.</summary>
    public double EndShare { get; }

    /// <summary>Where earlier spins of it ended.</summary>
    public double[] EarlierRpm { get; }

    public SpinTruth Truth => _spin.Spins[0];

    public SensorSettings Sensor => _spin.Scenario.Sensor;

    /// <summary>Two to four terms, each 0.1 to 1 of the largest at 1000 rpm; peak 1500 to 3000 rpm; ends at 180 to 350 rpm, give or take 0.3 to 4.5 %, three to eight earlier
    /// ends known; 4 to 40 min; 1 to 4 marks up to 6 % off; 3 to 100 µs of jitter; no wobble, or 0.001 or 0.003 turns; 0.5 % of the marks missed and as many glints.</summary>
    public static ForecastSpin Of(int seed, CoverEffect? cover = null)
    {
        var noise = new SeededNoise(seed, 4100);
        int marks = 1 + noise.Below(4);
        double usual = noise.Uniform(180, 350);
        double share = 0.003 * Math.Pow(15, noise.Uniform());
        double End() => usual * Math.Exp(share * noise.Gaussian());
        double[] earlier = [.. Enumerable.Range(0, 3 + noise.Below(6)).Select(_ => End())];
        SpinPlan plan = new SpinPlan
        {
            Pushes = [new Push(noise.Uniform(1500, 3000), noise.Uniform(0.4, 0.9))],
            Loss = Loss(noise),
            Cover = cover,
            ToppleRpm = End(),
        }.Lasting(240 * Math.Pow(marks > 2 ? 4 : 10, noise.Uniform()));
        var sensor = new SensorSettings
        {
            MarkOffsetsTurns = SensorSettings.Evenly(marks, marks > 1 ? 0.06 : 0, seed + 1),
            JitterS = 3e-6 * Math.Pow(30, noise.Uniform()),
            WobbleTurns = new[] { 0, 0.001, 0.003 }[noise.Below(3)],
            WobbleHzAt1000Rpm = noise.Uniform(0.3, 0.8),
            MissProbability = 0.005,
            RandomGlintsPerTurn = 0.005,
        };
        return new ForecastSpin(new SimulatedSpin(new SpinScenario { Seed = seed + 1, Spins = [plan], Sensor = sensor, RestAfterS = 5 }), marks, usual, share, earlier);
    }

    private static LossTerm[] Loss(SeededNoise noise)
    {
        int terms = 2 + noise.Below(3);
        return [.. Exponents.Select(p => (Exponent: p, Order: noise.Uniform(), Size: 0.03 * Math.Pow(10, -noise.Uniform()))).OrderBy(t => t.Order).Take(terms)
            .OrderBy(t => t.Exponent).Select(t => new LossTerm(t.Exponent, t.Size))];
    }

    /// <summary>What was known when a share of the spin had passed, and how long it then went on; null where nothing could be told.</summary>
    public (LawEvidence Evidence, double RemainingS)? At(double share)
    {
        double tickHz = _spin.Scenario.Board.TickHz;
        double untilS = Truth.ReleaseS + (share * Truth.SpinTimeS);
        JudgedRun run = RunJudge.Judge(
            [.. _spin.BoardPulses().TakeWhile(p => p.Truth.TimeS <= untilS).Select(p => p.Pulse)], new TrackerSettings { TickHz = tickHz, MarksPerTurn = _marks });
        run = GapBridge.Settle(run, 1 / tickHz, _marks);
        MarkSeries marks = MarkSeries.From(run.Pulses, 1 / tickHz);
        double endS = marks.TimeS[^1];
        SpinEstimate estimate = SpinEstimator.Estimate(marks, _marks, endS);
        double fromS = LawEvidence.Beginning(estimate.ReleaseS, endS);
        double firstS = (run.Pulses[0].Ticks + 0.5) / tickHz;
        return LawEvidence.OfLate(fromS, endS, estimate.Wobble?.ConstantPerS2, (from, _) => LawEvidence.Of(SpinMarks.Of(run.Pulses, 1 / tickHz, from, double.PositiveInfinity), estimate.Wobble?.ConstantPerS2)) is { } evidence
            ? (evidence, Truth.ToppleS - (firstS + evidence.ToS)) : null;
    }
}
