using Acquire.Acquisition;
using Acquire.Acquisition.Simulation;
using Acquire.Service.Sensor;

namespace Acquire.Service.Tests.Sensor;

/// <summary>Ten seconds of an invented sensor, as the judge gets them.</summary>
internal static class Watched
{
    internal const double WatchedS = 10;
    internal const double TickHz = 2_000_000;
    internal static readonly SensorAim OneMark = new(1, 12_000, null);

    /// <summary>A wheel pushed on by hand, a turn or two a second, with pauses.</summary>
    internal static SpinPlan TurnedByHand(int seed)
    {
        double swing = 0.85 + (0.05 * (seed % 7));
        return new SpinPlan
        {
            RestBeforeS = 0.4,
            Pushes = [new(70 * swing, 1.1, 0.8), new(95 * swing, 0.9, 1.2), new(110, 1.3, 0.7), new(130, 1.0)],
            Loss = [new LossTerm(0, 0.9), new LossTerm(1, 0.4)],
            ReferenceRpm = 100,
            ToppleRpm = 0,
        };
    }

    internal static SpinPlan Spinning(double rpm) => new()
    {
        RestBeforeS = 0.01,
        Pushes = [new(rpm, 0.5)],
        Loss = [new LossTerm(0, 0.02), new LossTerm(1, 0.05), new LossTerm(2, 0.02)],
        ReferenceRpm = rpm,
    };

    internal static SensorSettings Mark(int marks = 1, double widthTurns = 0.15, int seed = 1) => new()
    {
        MarkOffsetsTurns = SensorSettings.Evenly(marks, 0.05, seed),
        MarkWidthTurns = widthTurns / marks,
        JitterS = 20e-6,
    };

    internal static SensorView See(SpinPlan? spin, SensorSettings sensor, int seed, double ppm = 0, double fromS = 0)
    {
        var simulated = new SimulatedSpin(new SpinScenario
        {
            Seed = seed,
            Spins = spin is null ? [] : [spin],
            RestAfterS = 20,
            Sensor = sensor,
            Board = new BoardSettings { RatePpm = ppm },
        });
        return Of([.. simulated.BoardPulses().SkipWhile(p => p.Truth.TimeS < fromS).TakeWhile(p => p.Truth.TimeS < fromS + WatchedS).Select(p => p.Pulse)]);
    }

    internal static SensorView Of(IReadOnlyList<Pulse> pulses) =>
        new(pulses, TickHz, WatchedS, Lines: true, new SourceCounts(pulses.Count, 0, 0, 0, 0, 0));

    internal static string Words(SensorReport report) =>
        $"{string.Join(" ", report.Faults)} | {report.View.Pulses.Count} pulses, lamp {report.LampHz}, repeat {report.Repeat}, step {report.IntervalStep:F3}, "
        + $"share {report.TurnShare:F3} ± {report.TurnShareSpread:F3}, close {report.TooClose}";
}
