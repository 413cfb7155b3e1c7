using Acquire.Acquisition.Simulation;

namespace Acquire.DemoLibrary;

/// <summary>A run of the demo: all of it invented.</summary>
/// <param name="Number">Its number, which is its seed.</param>
/// <param name="ClearanceMm">Clearance of the cover, mm; null without a cover.</param>
/// <param name="StartUtc">When it was spun.</param>
internal sealed record DemoRun(int Number, double? ClearanceMm, DateTimeOffset StartUtc);

/// <summary>An invented disc whose cover takes a part off the air's loss above 900 rpm, the most at a clearance of 6.5 mm.</summary>
internal static class DemoScenario
{
    internal const string Note = "Invented data: simulated by scripts/demo-library.";

    /// <summary>The clearance at which the cover helps most, mm.</summary>
    internal const double BestMm = 6.5;

    private const double MostCut = 0.36;
    private const double CutPerMm2 = 0.0055;
    private const double CoverAboveRpm = 900;
    private const double RepeatSd = 0.012; // from run to run the loss as a whole
    private const double ToppleRpm = 200;
    private const double SpinS = 48 * 60;
    private static readonly DateTimeOffset FirstDay = new(2027, 3, 13, 8, 30, 0, TimeSpan.Zero);

    // Spun in turn, as one should: no order of the values, the bare disc in between.
    private static readonly double?[] Order = [null, 6, 14, 2, 9, 4, 6, 14, null, 9, 2, 4, null, 2, 9, 6, 4, 14, null];

    /// <summary>The share that a cover takes off the air's loss at speed.</summary>
    internal static double Cut(double clearanceMm) => MostCut - (CutPerMm2 * (clearanceMm - BestMm) * (clearanceMm - BestMm));

    internal static IEnumerable<DemoRun> Runs() =>
        Order.Select((clearance, i) => new DemoRun(i + 1, clearance, FirstDay.AddHours((i / 10 * 24) + (i % 10 * 1.2))));

    internal static SimulatedSpin Spin(DemoRun run)
    {
        var noise = new Random(1000 + run.Number);
        double scale = Math.Exp(RepeatSd * Normal(noise));
        SpinPlan bare = new SpinPlan
        {
            RestBeforeS = 4,
            Pushes = [new Push(2150 + (120 * noise.NextDouble()), 0.8)],
            Loss = [new(0, 0.02), new(1, 0.01), new(1.5, 0.1), new(2, 0.05)],
            ToppleRpm = ToppleRpm,
            FallS = 0.6,
            RollingS = 3,
            RollingFlashes = 6,
        };

        // The bare disc from the same speed always lasts as long: the loss does not hang on the launch.
        SpinPlan usual = (bare with { Pushes = [new Push(2100, 0.8)] }).Lasting(SpinS);
        return new SimulatedSpin(new SpinScenario
        {
            Seed = run.Number,
            RestAfterS = 400,
            Spins =
            [
                bare with
                {
                    Loss = [.. usual.Loss.Select(t => t with { DecelerationRadPerS2 = t.DecelerationRadPerS2 * scale })],
                    Cover = run.ClearanceMm is { } mm ? new CoverEffect(Cut(mm), CoverAboveRpm) : null,
                },
            ],
            Sensor = new SensorSettings { JitterS = 15e-6, WobbleTurns = 0.0005, MissProbability = 0.002, RandomGlintsPerTurn = 0.002 },
            Board = new BoardSettings { RatePpm = -640 },
        });
    }

    private static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
