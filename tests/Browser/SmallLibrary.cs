using Acquire.Acquisition.Simulation;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging.Abstractions;
using Xunit;

namespace Acquire.Browser.Tests;

/// <summary>A library of invented runs of some ninety seconds: a disc without a cover and with one at three clearances, which helps most at 6 mm.</summary>
internal static class SmallLibrary
{
    private const double SpinS = 90;
    private static readonly DateTimeOffset FirstUtc = new(2027, 3, 13, 8, 30, 0, TimeSpan.Zero);
    private static readonly double?[] ClearancesMm = [null, 6, 14, 2, null, 6, 2, 14, null, 6];

    /// <summary>How many runs there are.</summary>
    public static int Runs => ClearancesMm.Length;

    public static void Make(string library)
    {
        for (int i = 0; i < ClearancesMm.Length; i++) Make(library, i, ClearancesMm[i]);
    }

    private static void Make(string library, int number, double? clearanceMm)
    {
        var options = new CaptureOptions
        {
            Port = "simulated",
            Library = library,
            Top = "invented disc",
            Base = "glass dish",
            Cover = clearanceMm is null ? "none" : "ring",
            Note = "Invented data of a test.",
            Factors = clearanceMm is { } mm ? new() { ["clearance_mm"] = mm } : [],
        };
        using SimulatedPulseSource source = SimulatedPulseSource.Synthetic(Spin(number, clearanceMm), new HostDelays { AskEveryS = 10 });
        CaptureOutcome outcome = CapturePipeline.Compose(options, source, new StandingClock(FirstUtc.AddHours(number)), NullLogger.Instance).Run(CancellationToken.None);
        Assert.False(outcome.Failed);
        Assert.Single(outcome.Runs);
    }

    private static SimulatedSpin Spin(int number, double? clearanceMm)
    {
        SpinPlan plan = new SpinPlan { RestBeforeS = 4, Pushes = [new Push(2150, 0.8)], ToppleRpm = 300, FallS = 0.6 }.Lasting(SpinS);
        double scale = 1 + (0.004 * ((number % 3) - 1)); // repeats differ a little
        double cut = clearanceMm is { } mm ? 0.3 - (0.004 * (mm - 6) * (mm - 6)) : 0;
        return new SimulatedSpin(new SpinScenario
        {
            Seed = number + 1,
            RestAfterS = 400,
            Spins = [plan with { Loss = [.. plan.Loss.Select(t => t with { DecelerationRadPerS2 = t.DecelerationRadPerS2 * scale })], Cover = clearanceMm is null ? null : new CoverEffect(cut, 900) }],
        });
    }

    private sealed class StandingClock(DateTimeOffset utc) : TimeProvider
    {
        public override long TimestampFrequency => 1_000_000_000;

        public override long GetTimestamp() => 0;

        public override DateTimeOffset GetUtcNow() => utc;
    }
}
