using Acquire.Acquisition;
using Xunit;

namespace Acquire.Conditioning.Tests;

public sealed class WobbleAfterGapTests
{
    private const double GapFromTurnsPerS = 6.4;
    private const double GapToTurnsPerS = 5.3;
    private static readonly ExactSpin Spin = new() { PeakTurnsPerS = 20, TauS = 50, LastTurnsPerS = 4.2 };

    /// <summary>While the sensor is away the body begins to wobble, as bodies do before they fall: marks come early and late by a fiftieth of a turn, some of
    /// thirty times their jitter before. Precession goes with one over the speed; how it meets the turns is drawn.</summary>
    [Fact]
    public void A_body_that_wobbles_when_it_is_seen_again_is_counted_to_its_last_turn()
    {
        for (int seed = 0; seed < 40; seed++)
        {
            var random = new Random(seed);
            double rate = 0.5 + random.NextDouble(); // turns a second at 6 turns a second
            double phase = random.NextDouble();
            (double TimeS, int Mark, double Turns)[] marks = [.. Spin.Marks().Where(m => Spin.SpeedAt(m.TimeS) is > GapFromTurnsPerS or < GapToTurnsPerS)];
            Pulse[] pulses = [.. marks.Select(m => Spin.PulseAt(m.TimeS + Off(m.TimeS, rate, phase, random)))];
            JudgedRun run = RunJudge.Judge(pulses, new TrackerSettings { TickHz = Spin.TickHz, MarksPerTurn = 1 });

            double after = marks.First(m => Spin.SpeedAt(m.TimeS) < GapToTurnsPerS).Turns;
            int seen = marks.Count(m => m.Turns >= after);
            Assert.Equal((seed, PulseKind.Mark, PulseKind.Mark), (seed, run.Pulses[^seen].Kind, run.Pulses[^1].Kind));
            Assert.Equal((seed, seen - 1.0), (seed, run.Pulses[^1].Turns - run.Pulses[^seen].Turns));
        }
    }

    private static double Off(double timeS, double rate, double phase, Random random)
    {
        double speed = Spin.SpeedAt(timeS);
        double turns = 0.0007 * ExactSpin.Normal(random);
        if (speed < GapToTurnsPerS)
            turns += 0.02 * Math.Sin(2 * Math.PI * (phase + (rate * Spin.TauS * 6 * (1 / speed)))); // ∫dt/ω of an exponential is τ/ω
        return speed > 0 ? turns / Math.Max(speed, 1) : 0;
    }
}
