using Acquire.Acquisition.Simulation;

namespace Acquire.Faults;

/// <summary>Two hours of waiting and spinning: memory and open handles stay as they are, nothing is lost.</summary>
internal static class SoakSuite
{
    private const double TimesFaster = 60;
    private const double SampleTimesFaster = 40;
    private const double FirstSpinS = 120; // in the first tenth, so that what saving a run needs for good is there in the second
    private const double SpinS = 1200;
    private const double RestS = 500;
    private const int LongSpins = 4;

    public static void Break(Extent extent, Tally tally)
    {
        foreach (int seed in extent.Seeds(1, 1))
        {
            SpinScenario scenario = extent.IsSample
                ? Spins.Scenario(seed, [Spins.Plan(5, 40)], 180 - 45)
                : Spins.Scenario(seed, [Spins.Plan(20, FirstSpinS), .. Enumerable.Repeat(Spins.Plan(RestS, SpinS), LongSpins)], 260);
            Spins.Capture(seed, scenario, extent.IsSample ? SampleTimesFaster : TimesFaster, !extent.IsSample, null, tally);
        }
    }
}

/// <summary>A day with thirty spins of some minutes and long waits; the board's counter wraps every 36 minutes. Every spin becomes a run, and the
/// journals are let go.</summary>
internal static class DaySuite
{
    private const double TimesFaster = 60; // a line that comes 5 s late just as the counter wraps is taken for a restart: 80 ms here
    private const double SampleTimesFaster = 100;
    private const int DaySpins = 30;
    private const double EveryS = 86_400.0 / DaySpins;
    private const int SampleSpins = 3;
    private const double SampleEveryS = 200;
    private const long MostOpenBytes = 2_000_000;

    public static void Break(Extent extent, Tally tally)
    {
        foreach (int seed in extent.Seeds(1, 1))
        {
            var random = new Random(seed);
            double everyS = extent.IsSample ? SampleEveryS : EveryS;
            double[] spins = [.. Enumerable.Range(0, extent.IsSample ? SampleSpins : DaySpins).Select(_ => everyS * (0.05 + (0.15 * random.NextDouble())))];
            double afterS = everyS * 0.6;
            SpinPlan[] plans = [.. spins.Select((s, i) => Spins.Plan(i == 0 ? everyS - afterS - s : everyS - s, s))];
            Spins.Capture(
                seed, Spins.Scenario(seed, plans, afterS), extent.IsSample ? SampleTimesFaster : TimesFaster, !extent.IsSample, MostOpenBytes, tally);
        }
    }
}

internal static class Spins
{
    /// <summary>A rest, then a spin for a time from release to fall, s.</summary>
    public static SpinPlan Plan(double restS, double spinS) =>
        new SpinPlan { RestBeforeS = restS, Pushes = [new(1850, 0.7)], ToppleRpm = 260, FallS = 0.6 }.Lasting(spinS);

    /// <summary>Spins that nothing disturbs; the board's clock is off, as clocks are.</summary>
    public static SpinScenario Scenario(int seed, IReadOnlyList<SpinPlan> spins, double restAfterS) => new()
    {
        Seed = seed,
        Spins = spins,
        RestAfterS = restAfterS,
        Sensor = new SensorSettings { JitterS = 2e-6 },
        Board = new BoardSettings { RatePpm = 1200, CounterStart = 4_000_000_000 },
    };

    public static void Capture(int seed, SpinScenario scenario, double timesFaster, bool isFlat, long? mostOpenBytes, Tally tally)
    {
        var wrong = new List<string>();
        var capture = new LongCapture(scenario, timesFaster, isFlat);
        capture.Run(wrong);
        if (capture.MostOpenBytes > mostOpenBytes)
            wrong.Add($"the open journals had {capture.MostOpenBytes} bytes");
        (double mb, double handles) = capture.Watch.Tenth(1);
        (double lastMb, double lastHandles) = capture.Watch.Tenth(9);
        tally.Note("runs", capture.Runs);
        tally.Note("marks", capture.Marks);
        tally.Note("journals", capture.Journals);
        tally.Remark(FormattableString.Invariant(
            $"{mb:F1} then {lastMb:F1} MB, {handles:F0} then {lastHandles:F0} handles, at most {capture.Watch.MostMb:F1} MB and {capture.MostOpenBytes / 1000.0:F0} kB of open journals, {capture.Watch.ProcessorShare * 100:F1} % of a processor at {timesFaster} times real time, {capture.Watch.ProcessorShare / timesFaster * 100:F3} % of the simulated time"));
        tally.Count($"seed {seed}", wrong);
    }
}
