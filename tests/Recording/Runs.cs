using Acquire.Conditioning;
using Acquire.Motion;
using CsCheck;

namespace Acquire.Recording.Tests;

/// <summary>Invented runs.</summary>
internal static class Runs
{
    public static readonly DateTimeOffset StartedAt = new(2027, 3, 14, 9, 26, 53, 412, TimeSpan.Zero);

    private static readonly Gen<string> AnyText = Gen.OneOf(
        Gen.String[0, 12], Gen.String[Gen.OneOf(',', '"', '\n', '\r', ';', ' ', 'ä', 'x'), 0, 12], Gen.Const(""));

    private static readonly Gen<JudgedPulse> AnyPulse =
        from step in Gen.Long[0, 100_000_000_000]
        from width in Gen.OneOf(Gen.Const(0u), Gen.UInt)
        from extra in Gen.Bool
        from mark in Gen.Short[0, 7]
        from turns in Gen.Double[0, 1e6]
        select new JudgedPulse(step, width, extra ? PulseKind.Extra : PulseKind.Mark, extra ? (short)-1 : mark, turns);

    private static readonly Gen<double> AnyNumber = Gen.OneOf(Gen.Const(double.NaN), Gen.Double[-1e4, 1e4]);

    private static readonly Gen<double> AnyUncertainty = Gen.OneOf(Gen.Const(double.NaN), Gen.Double[1e-7, 50]);

    private static readonly Gen<SpeedPoint> AnySpeed =
        from step in Gen.Int[0, 100_000]
        from rpm in AnyNumber
        from uRpm in AnyUncertainty
        from decel in AnyNumber
        from uDecel in AnyUncertainty
        select new SpeedPoint(step / 1000.0, rpm, uRpm, decel, uDecel);

    private static readonly Gen<RunEvent> AnyEvent =
        from step in Gen.Int[0, 100_000]
        from detail in AnyText
        select new RunEvent(step / 1000.0, RunEventNames.SignalLost, detail);

    public static readonly Gen<FinishedRun> Any =
        from pulses in AnyPulse.Array[0, 40]
        from origin in Gen.Long[-1_000_000_000, 1_000_000_000_000]
        from speed in AnySpeed.Array[0, 20]
        from events in AnyEvent.Array[0, 8]
        from top in AnyText
        from note in AnyText
        from ratePpm in Gen.Double[-5000, 5000]
        select Make(
            AddUp(pulses, origin),
            1 / (2e6 * (1 + (ratePpm * 1e-6))),
            [.. speed.OrderBy(point => point.TimeS)],
            [.. events.OrderBy(happened => happened.TimeS)],
            new RunSetup { Top = top, Note = note, Factors = new Dictionary<string, double> { ["dish_radius_mm"] = ratePpm } });

    public static FinishedRun Make(
        IReadOnlyList<JudgedPulse> pulses, double secondsPerTick, IReadOnlyList<SpeedPoint> speed, IReadOnlyList<RunEvent> events, RunSetup setup)
    {
        long marks = pulses.LongCount(pulse => pulse.Kind == PulseKind.Mark);
        return new FinishedRun
        {
            Descriptor = new RunDescriptor
            {
                Software = "acquire 0.1.0",
                StartedAt = StartedAt,
                EndReason = EndReasons.Stopped,
                Setup = setup,
                Source = new RunSource("simulation", "invented", 2_000_000, 2, [0, 0.497]),
                Clock = new RunClock(-1200.3, 0.8, "synchronised"),
                Counts = new RunCounts(pulses.Count, marks, pulses.Count - marks, 3, 1, 2, 0, 1),
                Result = new RunResult(3000.25, 0.04, 1.5, 5400.75, 5399.25, 0.9, double.NaN),
            },
            Pulses = pulses,
            SecondsPerTick = secondsPerTick,
            Speed = speed,
            Events = events,
        };
    }

    /// <summary>A small run of two marks that slows from 1,500 rpm, with one extra, one gap and one stop.</summary>
    public static FinishedRun Small(string top = "Oak rim")
    {
        var pulses = new List<JudgedPulse>();
        for (int half = 0; half < 400; half++)
        {
            long ticks = 1_000_000 + (half * 40_000L) + (half * half * 8L);
            pulses.Add(new JudgedPulse(ticks, 900 + (uint)half, PulseKind.Mark, (short)(half % 2), half / 2.0));
            if (half == 200)
                pulses.Add(new JudgedPulse(ticks + 5000, 0, PulseKind.Extra, -1, 100.06));
        }

        return Make(
            pulses,
            5e-7,
            [
                new SpeedPoint(0, 1500, 0.25, 0, 0.125), new SpeedPoint(1, double.NaN, double.NaN, double.NaN, double.NaN),
                new SpeedPoint(2, 1409.0625, 0.031, 45.5, 0.0021),
            ],
            [
                new RunEvent(0, RunEventNames.Launch, ""), new RunEvent(0.5, RunEventNames.SignalLost, "hand before the sensor, \"twice\""),
                new RunEvent(1.25, RunEventNames.SignalBack, "two\nlines"), new RunEvent(8.6184, RunEventNames.Stop, ""),
            ],
            new RunSetup { Top = top, Base = "glass", Operator = "Jo", Factors = new Dictionary<string, double> { ["dish_radius_mm"] = 80 } });
    }

    private static JudgedPulse[] AddUp(JudgedPulse[] steps, long origin)
    {
        long ticks = origin;
        return [.. steps.Select(step => step with { Ticks = ticks += step.Ticks })];
    }
}
