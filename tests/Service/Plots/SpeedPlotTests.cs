using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Plots;

namespace Acquire.Service.Tests.Plots;

public sealed class SpeedPlotTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("acquire-plot-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Nothing_is_drawn_across_a_gap()
    {
        FinishedRun run = SampleRuns.Make(gap: (100, 200));
        List<List<SpeedPoint>> pieces = SpeedPlot.Pieces(run.Speed);
        Assert.Equal(2, pieces.Count);
        Assert.Equal(99, pieces[0][^1].TimeS);
        Assert.Equal(201, pieces[1][0].TimeS);
        Assert.Equal(run.Speed.Count - 101, pieces.Sum(p => p.Count));
    }

    [Fact]
    public void The_plot_names_top_start_release_stop_and_the_axes_with_their_units()
    {
        string svg = Draw(SampleRuns.Make());
        foreach (string words in new[]
        {
            "oak rim, 14 March 2027 09:26 UTC", "time since the first pulse / min", "speed / rpm", "deceleration / (rpm/s)",
            "release, 300.0 rpm", "stop after 0:24:14.7",
        })
            Assert.Contains(words, svg);
        Assert.Contains(PlotFonts.Family, svg);
    }

    [Fact]
    public void A_run_with_nothing_but_a_gap_is_still_drawn()
    {
        FinishedRun run = SampleRuns.Make(gap: (0, 1e6));
        string svg = Draw(new FinishedRun
        {
            Descriptor = run.Descriptor with { Result = new(double.NaN, double.NaN, double.NaN, double.NaN, double.NaN, double.NaN, double.NaN) },
            Pulses = run.Pulses,
            SecondsPerTick = run.SecondsPerTick,
            Speed = run.Speed,
            Events = run.Events,
        });
        Assert.Contains("speed / rpm", svg);
        Assert.DoesNotContain("deceleration", svg);
        Assert.DoesNotContain("NaN", svg);
    }

    [Fact]
    public void A_run_without_points_is_still_drawn()
    {
        string file = Path.Combine(_folder, "empty.png");
        SpeedPlot.Write(file, SampleRuns.Make().Descriptor, []);
        Assert.True(new FileInfo(file).Length > 1000);
    }

    private string Draw(FinishedRun run)
    {
        string file = Path.Combine(_folder, "plot.svg");
        SpeedPlot.Write(file, run.Descriptor, run.Speed);
        return File.ReadAllText(file);
    }
}
