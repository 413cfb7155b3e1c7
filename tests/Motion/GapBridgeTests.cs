using Acquire.Conditioning;
using Acquire.Conditioning.Tests;
using Xunit;

namespace Acquire.Motion.Tests;

public sealed class GapBridgeTests
{
    // Marks of an exactly known spin, told wrong by some turns after the gap, as a tracker that guessed would tell them.
    private static (JudgedRun Run, double Truth) Lost(ExactSpin spin, double fromS, double toS, int wrongTurns)
    {
        var seen = spin.Marks().Where(m => m.TimeS < fromS || m.TimeS > toS).ToList();
        var pulses = seen.Select(m => new JudgedPulse(
            spin.PulseAt(m.TimeS).Ticks, 0, PulseKind.Mark, (short)m.Mark, m.Turns + (m.TimeS > toS ? wrongTurns : 0))).ToList();
        int after = seen.FindIndex(m => m.TimeS > toS);
        double truth = seen[after].Turns - seen[after - 1].Turns;
        var gap = new Bridge(pulses[after - 1].Ticks, pulses[after].Ticks, truth + wrongTurns, 5);
        return (new JudgedRun(pulses, 0, 0, spin.MarkOffsets, [gap]), truth);
    }

    private static JudgedRun Settle(ExactSpin spin, JudgedRun run) => GapBridge.Settle(run, 1 / spin.TickHz, spin.MarkOffsets.Length);

    [Theory]
    [InlineData(20, 25, 3, 0.25)]
    [InlineData(60, 120, -7, 0.5)]
    [InlineData(40, 160, 12, 2)]
    public void Turns_across_a_gap_are_counted_from_the_marks_on_both_sides(double fromS, double toS, int wrong, double mostU)
    {
        var spin = new ExactSpin();
        (JudgedRun run, double truth) = Lost(spin, fromS, toS, wrong);
        JudgedRun settled = Settle(spin, run);
        Assert.Equal(truth, settled.Bridges[0].Turns, 6);
        Assert.InRange(settled.Bridges[0].UTurns, 0, mostU);
        Assert.Equal(spin.Marks().Last().Turns, settled.Pulses[^1].Turns, 6);
        Assert.Equal(-wrong, settled.Missed);
    }

    [Theory]
    [InlineData(3)]
    [InlineData(9)]
    [InlineData(20)]
    public void A_gap_soon_after_the_release_is_not_counted_from_the_launch(double afterReleaseS)
    {
        var spin = new ExactSpin { PeakTurnsPerS = 40 };
        double fromS = spin.ReleaseS + afterReleaseS;
        (JudgedRun run, double truth) = Lost(spin, fromS, fromS + 3.05, -1);
        JudgedRun settled = Settle(spin, run);
        Assert.Equal(truth, settled.Bridges[0].Turns, 6);
        Assert.InRange(settled.Bridges[0].UTurns, 0, 0.25);
    }

    [Fact]
    public void A_body_that_hardly_slows_is_counted_across_a_gap()
    {
        for (int i = 0; i < 80; i++)
        {
            double tauS = 1e5 * Math.Pow(10, i / 20.0);
            var spin = new ExactSpin { TauS = tauS, LastTurnsPerS = 30 * Math.Exp(-40 / tauS) };
            (JudgedRun run, double truth) = Lost(spin, 15, 18, 2);
            Assert.Equal(truth, Settle(spin, run).Bridges[0].Turns, 6);
        }
    }

    [Fact]
    public void With_marks_that_look_alike_a_gap_may_be_off_by_a_mark_and_is_put_right_by_one()
    {
        var spin = new ExactSpin { MarkOffsets = [0, 0.5] };
        var seen = spin.Marks().Where(m => m.TimeS is < 30 or > 36).ToList();
        int after = seen.FindIndex(m => m.TimeS > 36);
        double truth = seen[after].Turns - seen[after - 1].Turns;
        var pulses = seen.Select((m, i) => new JudgedPulse(
            spin.PulseAt(m.TimeS).Ticks, 0, PulseKind.Mark, (short)(i < after ? m.Mark : 1 - m.Mark), m.Turns + (i < after ? 0 : 0.5))).ToList();
        JudgedRun settled = Settle(spin, new JudgedRun(pulses, 0, 0, spin.MarkOffsets, [new Bridge(pulses[after - 1].Ticks, pulses[after].Ticks, truth + 0.5, 1)]));
        Assert.Equal(seen[^1].Turns, settled.Pulses[^1].Turns, 6);
        Assert.Equal(seen[^1].Mark, settled.Pulses[^1].Mark);
    }

    [Fact]
    public void Where_too_few_marks_are_beside_a_gap_its_count_stays_as_it_was()
    {
        var spin = new ExactSpin();
        (JudgedRun run, double truth) = Lost(spin, spin.StopS - 8, spin.StopS - 1, 2);
        Assert.Equal(truth + 2, Settle(spin, run).Bridges[0].Turns, 9);
    }
}
