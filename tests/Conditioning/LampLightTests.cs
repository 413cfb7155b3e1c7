using Acquire.Acquisition;
using Xunit;

namespace Acquire.Conditioning.Tests;

public sealed class LampLightTests
{
    private const double TickHz = 2e6;

    private static IEnumerable<Pulse> Flashes(double hz, double seen, int seed, double forS = 20)
    {
        var random = new Random(seed);
        for (int i = 0; i < forS * hz; i++)
        {
            if (random.NextDouble() < seen)
                yield return new Pulse((long)(((i / hz) + (3e-5 * ExactSpin.Normal(random))) * TickHz), 0, -1);
        }
    }

    [Theory]
    [InlineData(100, 1, 1)]
    [InlineData(99.8, 1, 2)]
    [InlineData(120.2, 0.9, 3)]
    [InlineData(120, 0.5, 7)]
    public void Lamp_light_is_named_with_its_frequency_and_gives_no_mark(double hz, double seen, int marks)
    {
        var tracker = new MarkTracker(new TrackerSettings { TickHz = TickHz, MarksPerTurn = marks });
        var judged = new List<JudgedPulse>();
        foreach (Pulse pulse in Flashes(hz, seen, 4))
            tracker.Add(pulse, judged);
        tracker.Finish(judged);
        Assert.Equal(hz, tracker.LampHz, 0.05);
        Assert.DoesNotContain(judged, p => p.Kind == PulseKind.Mark);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(4)]
    public void A_spin_is_not_named_as_a_lamp(int marks)
    {
        var spin = new ExactSpin { PeakTurnsPerS = 40, MarkOffsets = [.. Enumerable.Range(0, marks).Select(i => (double)i / marks)] };
        var light = new LampLight(spin.TickHz);
        foreach (var m in spin.Marks())
        {
            light.See(spin.PulseAt(m.TimeS));
            Assert.True(double.IsNaN(light.Hz));
        }
    }

    [Fact]
    public void Light_that_ends_is_no_longer_named()
    {
        var light = new LampLight(TickHz);
        foreach (Pulse pulse in Flashes(100, 1, 1))
            light.See(pulse);
        Assert.Equal(100, light.Hz, 0.05);
        light.See(new Pulse((long)(25 * TickHz), 0, -1));
        Assert.True(double.IsNaN(light.Hz));
    }

    [Fact]
    public void A_launch_out_of_lamp_light_is_all_marks_and_the_light_none()
    {
        var spin = new ExactSpin { RestS = 20.02 };
        var lamp = Flashes(100, 1, 6).ToList();
        var marks = spin.Marks().Select(m => spin.PulseAt(m.TimeS)).ToList();
        JudgedRun run = RunJudge.Judge([.. lamp, .. marks], new TrackerSettings { TickHz = TickHz });
        Assert.DoesNotContain(run.Pulses.Take(lamp.Count), p => p.Kind == PulseKind.Mark);
        Assert.InRange(run.Marks, marks.Count - 1, marks.Count);
    }
}
