using System.Text.Json;

namespace Acquire.Service.Tests.Commands;

public sealed class ShowCommandTests : IDisposable
{
    private static readonly byte[] PngSignature = [0x89, (byte)'P', (byte)'N', (byte)'G'];
    private readonly Bench _bench = new();
    private readonly string _run;

    public ShowCommandTests() => _run = SampleRuns.Write(_bench.Library, SampleRuns.Make(gap: (300, 360)));

    public void Dispose() => _bench.Dispose();

    [Fact]
    public void The_json_is_the_descriptors_object_with_its_keys_in_the_order_of_the_format()
    {
        Assert.Equal(0, _bench.Run("show", _run, "--json"));
        using JsonDocument shown = JsonDocument.Parse(_bench.Out);
        using JsonDocument written = JsonDocument.Parse(File.ReadAllText(Path.Combine(_bench.Library, _run, "datapackage.json")));
        Assert.True(JsonElement.DeepEquals(written.RootElement.GetProperty("acquire"), shown.RootElement));
        Assert.Equal(["version", "software", "startedAt", "endReason", "setup", "source", "clock", "counts", "result"], Keys(shown.RootElement));
        Assert.Equal(["peakRpm", "uPeakRpm", "releaseS", "stopS", "spinTimeS", "uSpinTimeS", "lastRpm"], Keys(shown.RootElement.GetProperty("result")));
        Assert.Empty(Directory.GetFiles(_bench.Current));
    }

    [Fact]
    public void In_words_it_tells_set_up_source_clock_counts_result_and_events_and_last_the_plot()
    {
        Assert.Equal(0, _bench.Run("show", _run));
        string[] lines = _bench.Out.TrimEnd('\n').Split('\n');
        Assert.Equal(_run, lines[0]);
        foreach (string section in new[] { "result", "set-up", "source", "clock", "counts", "events" }) Assert.Contains(section, lines);
        Assert.Contains("  spin time    0:24:14.7 (1454.73 ± 0.40 s)", lines);
        Assert.Contains("  0:05:00.0    signal lost: [lamp] off", lines);
        Assert.DoesNotContain('\u001b', _bench.Out);
        string plot = Path.Combine(_bench.Current, _run + "-speed.png");
        Assert.Equal(plot, lines[^1]);
        Assert.Equal(PngSignature, File.ReadAllBytes(plot)[..4]);
    }

    [Fact]
    public void Where_the_run_says_it_the_parts_of_the_spin_times_uncertainty_are_shown()
    {
        string run = SampleRuns.Write(_bench.Library, SampleRuns.Make(top: "with budget", budget: new(0.24, 0.0004, 0.32)));
        Assert.Equal(0, _bench.Run("show", run));
        string[] lines = _bench.Out.Split('\n');
        int at = Array.IndexOf(lines, "uncertainty of the spin time");
        Assert.Equal("  clock        0.24 s, from the rate of the board's clock", lines[at + 1]);
        Assert.Equal("  release      <0.001 s, from when the hand let go", lines[at + 2]);
        Assert.Equal("  stop         0.32 s, from when the spin ended", lines[at + 3]);

        using var other = new Bench();
        string without = SampleRuns.Write(other.Library, SampleRuns.Make());
        Assert.Equal(0, other.Run("show", without));
        Assert.DoesNotContain("uncertainty of the spin time", other.Out);
    }

    [Fact]
    public void An_end_that_nobody_saw_has_a_line_and_one_that_was_seen_has_none()
    {
        string unseen = SampleRuns.Write(_bench.Library, SampleRuns.Make(top: "unseen", stop: new(false, 1456.5) { LatestS = 1700.3 }));
        Assert.Equal(0, _bench.Run("show", unseen));
        Assert.Contains(
            "  unseen       nothing was seen after the last mark at 1456.5 s; if the sensor was blocked the spin ended no later than 1700.3 s", _bench.Out.Split('\n'));

        using var other = new Bench();
        string seen = SampleRuns.Write(other.Library, SampleRuns.Make(stop: new(true, 1456.5)));
        Assert.Equal(0, other.Run("show", seen));
        Assert.DoesNotContain("nothing was seen", other.Out);
    }

    [Fact]
    public void A_wobble_has_a_line_with_its_uncertainty_and_a_run_without_one_has_none()
    {
        string run = SampleRuns.Write(_bench.Library, SampleRuns.Make(top: "wobbling", wobble: new(9.2997, 0.00312)));
        Assert.Equal(0, _bench.Run("show", run));
        Assert.Contains("  wobble       precession rate times speed 9.2997 ± 0.0031 1/s²: 1.860 Hz at the peak", _bench.Out.Split('\n'));

        using var other = new Bench();
        Assert.Equal(0, other.Run("show", SampleRuns.Write(other.Library, SampleRuns.Make())));
        Assert.DoesNotContain("wobble", other.Out);
    }

    [Theory]
    [InlineData(2, true)]
    [InlineData(1, false)]
    [InlineData(0, false)]
    public void Another_number_of_marks_seen_than_was_set_has_a_line(int seen, bool told)
    {
        string run = SampleRuns.Write(_bench.Library, SampleRuns.Make(top: "marked", marksSeen: seen));
        Assert.Equal(0, _bench.Run("show", run));
        Assert.Equal(told, _bench.Out.Split('\n').Contains("  marks seen   2: --marks 1 looks wrong"));
        Assert.Equal(told, _bench.Out.Contains("looks wrong", StringComparison.Ordinal));
    }

    [Fact]
    public void Showing_leaves_the_run_as_it_was()
    {
        _bench.Run("show", _run, "--plot", "speed.svg");
        Assert.Contains("<svg", File.ReadAllText(Path.Combine(_bench.Current, "speed.svg")));
        Assert.Equal(0, _bench.Run("verify", _run));
    }

    [Theory]
    [InlineData("speed.pdf", "allowed is a file that ends in .png or .svg")]
    [InlineData("runs/20270314T092653Z-oak-rim/speed.png", "is in the run's folder")]
    [InlineData("nowhere/speed.png", "there is no folder")]
    public void A_plot_that_cannot_go_there_is_refused_before_anything_is_shown(string file, string why)
    {
        Assert.Equal(2, _bench.Run("show", _run, "--plot", file));
        Assert.StartsWith("acquire show: --plot: ", _bench.Error);
        Assert.Contains(why, _bench.Error);
        Assert.Equal("", _bench.Out);
    }

    [Fact]
    public void A_run_that_is_not_there_is_named_with_the_one_that_was_meant()
    {
        Assert.Equal(2, _bench.Run("show", "20270314T092653Z-oak-rum"));
        Assert.Contains("did you mean 20270314T092653Z-oak-rim?", _bench.Error);
    }

    [Fact]
    public void A_table_that_cannot_be_read_is_named_with_its_line()
    {
        string file = Path.Combine(_bench.Library, _run, "events.csv");
        File.WriteAllText(file, "time_s,event,detail\nsoon,launch,\n");
        Assert.Equal(2, _bench.Run("show", _run));
        Assert.Contains(file + ", line 2", _bench.Error);
    }

    private static string[] Keys(JsonElement element) => [.. element.EnumerateObject().Select(p => p.Name)];
}
