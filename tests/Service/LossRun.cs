using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Recording;

namespace Acquire.Service.Tests;

/// <summary>An invented run whose marks follow dω/dt = −a − b ω² exactly (a closed form), with white jitter of 20 µs.</summary>
internal static class LossRun
{
    public const double Dry = 0.3;            // rad/s² at 1000 rpm
    public const double Quadratic = 0.5;
    private const double Rpm = Math.PI / 30;
    private const double B = Quadratic / (1000 * Rpm * 1000 * Rpm);
    private static readonly double Root = Math.Sqrt(Dry / B);
    private static readonly double Rate = Math.Sqrt(Dry * B);
    private static readonly double Phase = Math.Atan(2400 * Rpm / Root);

    /// <summary>When a speed is passed, from 2400 rpm at 0 s.</summary>
    public static double TimeS(double rpm) => (Phase - Math.Atan(rpm * Rpm / Root)) / Rate;

    public static double RpmAt(double timeS) => Root * Math.Tan(Phase - (Rate * timeS)) / Rpm;

    public static FinishedRun Make(DateTimeOffset? start = null, (double FromS, double ToS)? gap = null, string cover = "jar", string top = "oak rim", double rimMassG = 12.5)
    {
        double stopS = TimeS(300);
        bool Lost(double t) => gap is { } g && t > g.FromS && t < g.ToS;
        List<JudgedPulse> pulses = [.. Marks(stopS).Where(p => !Lost(p.Ticks * 1e-9))];
        return new FinishedRun
        {
            Descriptor = new RunDescriptor
            {
                Software = ProgramVersion.Software,
                StartedAt = start ?? SampleRuns.Start,
                EndReason = EndReasons.Stopped,
                Setup = new() { Top = top, Base = "glass", Cover = cover, Operator = "A", Note = "invented", Factors = new SortedDictionary<string, double> { ["rim_mass_g"] = rimMassG } },
                Source = new("simulation", "invented", 1e9, 1, [0]),
                Clock = new(0, 0.5, "synchronised"),
                Counts = new(pulses.Count, pulses.Count, 0, 0, 0, 0, 0, gap is null ? 0 : 1),
                Result = new(2400, 0.1, 0, stopS, stopS, 0.1, 300),
            },
            Pulses = pulses,
            SecondsPerTick = 1e-9,
            Speed = [.. Enumerable.Range(0, (int)stopS + 1).Select(i => Lost(i)
                ? new SpeedPoint(i, double.NaN, double.NaN, double.NaN, double.NaN)
                : new SpeedPoint(i, RpmAt(i), 0.01, (Dry + (B * RpmAt(i) * Rpm * RpmAt(i) * Rpm)) / Rpm, 0.002))],
            Events = [new(0, RunEventNames.Launch, ""), new(0, RunEventNames.Release, ""), new(stopS, RunEventNames.Stop, "")],
        };
    }

    // θ = ln(cos(c − rate t)/cos c)/b
    private static IEnumerable<JudgedPulse> Marks(double stopS)
    {
        var random = new Random(20270314);
        for (int turn = 0; ; turn++)
        {
            double cos = Math.Cos(Phase) * Math.Exp(B * 2 * Math.PI * turn);
            double t = cos >= 1 ? double.PositiveInfinity : (Phase - Math.Acos(cos)) / Rate;
            if (t > stopS)
                yield break;
            double jitter = turn == 0 ? 0 : 20e-6 * Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
            yield return new JudgedPulse((long)Math.Round((t + jitter) * 1e9), 0, PulseKind.Mark, 0, turn);
        }
    }
}
