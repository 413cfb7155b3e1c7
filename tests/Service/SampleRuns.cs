using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Recording;

namespace Acquire.Service.Tests;

/// <summary>Invented runs: a top that loses speed by friction and by air, with a gap where the signal was lost.</summary>
internal static class SampleRuns
{
    public static readonly DateTimeOffset Start = new(2027, 3, 14, 9, 26, 53, 412, TimeSpan.Zero);
    private const double LaunchS = 2;
    private const double Friction = 0.15; // rpm/s
    private const double PerSecond = 1 / 2400.0;

    /// <summary>A finished run whose speed falls from <paramref name="peakRpm"/> to rest: from 300 rpm in 2400 s × ln(1 + 300/(2400 × 0.15)) = 1454.73 s.</summary>
    public static FinishedRun Make(
        string top = "oak rim", double peakRpm = 300, DateTimeOffset? start = null, (double FromS, double ToS)? gap = null,
        string endReason = EndReasons.Stopped, double spread = 1, IReadOnlyDictionary<string, double>? factors = null, RunBudget? budget = null, RunStop? stop = null, RunWobble? wobble = null, int? marksSeen = null)
    {
        double stopS = LaunchS + (Math.Log(1 + (peakRpm * PerSecond / Friction)) / PerSecond);
        var random = new Random(20270314);
        var speed = new List<SpeedPoint>();
        for (double t = 0; t <= stopS; t++)
        {
            bool lost = gap is { } g && t >= g.FromS && t <= g.ToS;
            double noise = spread * Normal(random);
            speed.Add(lost
                ? new(t, double.NaN, double.NaN, double.NaN, double.NaN)
                : new(t, SpeedAt(t, peakRpm) + (0.1 * noise), 0.1 * spread, DecelerationAt(t, peakRpm) + (0.02 * spread * Normal(random)), 0.02 * spread));
        }

        List<JudgedPulse> pulses = Pulses(peakRpm, stopS);
        long extra = pulses.Count(p => p.Kind == PulseKind.Extra);
        return new FinishedRun
        {
            Descriptor = new RunDescriptor
            {
                Software = ProgramVersion.Software,
                StartedAt = start ?? Start,
                EndReason = endReason,
                Setup = new() { Top = top, Base = "glass", Cover = "jar", Operator = "A", Note = "invented", Factors = factors ?? new SortedDictionary<string, double> { ["dish_radius_mm"] = 80 } },
                Source = new("simulation", "invented", 2_000_000, 1, [0]),
                Clock = new(-1200.3, 0.8, "synchronised"),
                Counts = new(pulses.Count, pulses.Count - extra, extra, 2, 1, 0, 0, gap is null ? 0 : 1) { MarksSeen = marksSeen },
                Result = new(peakRpm, 0.1, LaunchS, stopS, stopS - LaunchS, 0.4, 3.2),
                Budget = budget,
                Stop = stop,
                Wobble = wobble,
            },
            Pulses = pulses,
            SecondsPerTick = 5e-7,
            Speed = speed,
            Events =
            [
                new(0, RunEventNames.Launch, ""),
                new(LaunchS, RunEventNames.Release, ""),
                .. gap is { } lostGap
                    ? new RunEvent[] { new(lostGap.FromS, RunEventNames.SignalLost, "[lamp] off"), new(lostGap.ToS, RunEventNames.SignalBack, "") }
                    : [],
                new(stopS, RunEventNames.Stop, ""),
            ],
        };
    }

    /// <summary>Writes a run into a library and gives its folder's name.</summary>
    public static string Write(string library, FinishedRun run) => Path.GetFileName(RunPackageWriter.Write(library, run));

    private static double SpeedAt(double timeS, double peakRpm) => timeS < LaunchS
        ? peakRpm * timeS / LaunchS
        : Math.Max(0, ((peakRpm + (Friction / PerSecond)) * Math.Exp(-PerSecond * (timeS - LaunchS))) - (Friction / PerSecond));

    private static double DecelerationAt(double timeS, double peakRpm) => timeS < LaunchS
        ? -peakRpm / LaunchS
        : Friction + (PerSecond * SpeedAt(timeS, peakRpm));

    private static List<JudgedPulse> Pulses(double peakRpm, double stopS)
    {
        var pulses = new List<JudgedPulse>();
        for (int i = 0; i < 50; i++) pulses.Add(new(i * (long)(stopS * 2e6 / 60), 100, PulseKind.Mark, 0, i * peakRpm / 60));
        pulses.Add(new((long)(stopS * 2e6), 3, PulseKind.Extra, -1, 50.5 * peakRpm / 60));
        return pulses;
    }

    private static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
