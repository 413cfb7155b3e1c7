using Xunit;

namespace Acquire.Conditioning.Tests;

public sealed class EndLightTests
{
    private static double[] Flashes(double fromS, double forS, double hz, double seen)
    {
        var random = new Random(3);
        return [.. Enumerable.Range(0, (int)(forS * hz)).Where(_ => random.NextDouble() < seen).Select(i => fromS + (i / hz))];
    }

    [Theory]
    [InlineData(100, 1)]
    [InlineData(120, 0.6)]
    public void Light_that_follows_the_fall_is_found_from_its_first_flash_on(double hz, double seen)
    {
        double[] marks = [.. new ExactSpin { TauS = 20 }.Marks().Select(m => m.TimeS)];
        double[] timeS = [.. marks, .. Flashes(marks[^1] + 0.9, 5, hz, seen)];
        Assert.Equal(marks.Length, EndLight.From(timeS));
    }

    [Fact]
    public void A_body_that_slows_to_the_beat_of_light_as_its_run_is_cut_off_is_no_light()
    {
        var spin = new ExactSpin { PeakTurnsPerS = 101.5, TauS = 3000, LastTurnsPerS = 99.98 };
        double[] timeS = [.. spin.Marks().Select(m => m.TimeS)];
        Assert.Equal(timeS.Length, EndLight.From(timeS));
    }

    [Fact]
    public void Light_after_the_fall_of_which_there_are_more_flashes_than_marks_leaves_the_marks_the_run()
    {
        var spin = new ExactSpin { TauS = 20 };
        int marks = spin.Marks().Count();
        double[] timeS = [.. spin.Marks().Select(m => m.TimeS), .. Flashes(spin.StopS + 0.6, 10, 120, 1)];
        Assert.True(timeS.Length > 2 * marks);
        JudgedRun run = RunJudge.Judge([.. timeS.Select(t => spin.PulseAt(t))], new TrackerSettings { TickHz = spin.TickHz });
        Assert.Equal(Enumerable.Range(0, marks), run.Pulses.Select((p, i) => (p.Kind, i)).Where(p => p.Kind == PulseKind.Mark).Select(p => p.i));
    }
}
