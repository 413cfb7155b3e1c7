using Microsoft.Extensions.Time.Testing;

namespace Acquire.Recording.Tests;

public sealed class PackageWriterTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData("Oak rim", "oak-rim")]
    [InlineData("  Größe Ø 80 mm ", "groesse-o-80-mm")]
    [InlineData("Čučoriedka Žltá", "cucoriedka-zlta")]
    [InlineData("Łódź No. 3 — d’été", "lodz-no-3-dete")]
    [InlineData("e\u0301te\u0301", "ete")]
    [InlineData("../../etc/passwd", "etc-passwd")]
    [InlineData("", "run")]
    [InlineData("独楽", "run")]
    [InlineData("a very long name of a top that goes on and on without end", "a-very-long-name-of-a-top-that-goes-on-a")]
    public void A_folder_is_named_by_start_and_top(string top, string slug)
    {
        string folder = RunPackageWriter.Write(_folder.Root, Runs.Small(top));
        Assert.Equal(_folder.At($"20270314T092653Z-{slug}"), folder);
    }

    [Fact]
    public void Further_runs_of_the_same_name_are_numbered_and_none_is_written_over()
    {
        string first = RunPackageWriter.Write(_folder.Root, Runs.Small());
        byte[] before = File.ReadAllBytes(Path.Combine(first, "datapackage.json"));
        Assert.Equal(first + "-2", RunPackageWriter.Write(_folder.Root, Runs.Small()));
        Assert.Equal(first + "-3", RunPackageWriter.Write(_folder.Root, Runs.Small()));
        Assert.Equal(before, File.ReadAllBytes(Path.Combine(first, "datapackage.json")));
        Assert.Empty(RunVerifier.VerifyLibrary(_folder.Root));
    }

    [Fact]
    public void Runs_written_at_the_same_time_all_get_a_folder_of_their_own()
    {
        var folders = new System.Collections.Concurrent.ConcurrentBag<string>();
        Parallel.For(0, 12, _ => folders.Add(RunPackageWriter.Write(_folder.Root, Runs.Small())));
        Assert.Equal(12, folders.Distinct().Count());
        Assert.Equal(12, RunLibrary.List(_folder.Root).Count(run => run.Descriptor is not null));
        Assert.Empty(RunVerifier.VerifyLibrary(_folder.Root));
    }

    [Fact]
    public void Writing_leaves_nothing_but_the_run()
    {
        RunPackageWriter.Write(_folder.Root, Runs.Small());
        string run = Assert.Single(Directory.GetFileSystemEntries(_folder.Root));
        Assert.Equal(
            ["datapackage.json", "events.csv", "pulses.csv", "speed.csv"],
            Directory.GetFileSystemEntries(run).Select(Path.GetFileName).Order(StringComparer.Ordinal));
    }

    [Fact]
    public void A_run_that_cannot_be_written_leaves_nothing_behind()
    {
        FinishedRun small = Runs.Small();
        FinishedRun broken = Runs.Make(small.Pulses, double.NaN, small.Speed, small.Events, small.Descriptor.Setup);
        Assert.Throws<ArgumentOutOfRangeException>(() => RunPackageWriter.Write(_folder.Root, broken));
        Assert.Empty(Directory.GetFileSystemEntries(_folder.Root));
    }

    [Fact]
    public void The_time_of_writing_is_the_clocks()
    {
        var time = new FakeTimeProvider(new DateTimeOffset(2027, 3, 14, 11, 0, 0, 250, TimeSpan.Zero));
        string folder = RunPackageWriter.Write(_folder.Root, Runs.Small(), time);
        Assert.Contains("\"created\": \"2027-03-14T11:00:00.250Z\"", File.ReadAllText(Path.Combine(folder, "datapackage.json")), StringComparison.Ordinal);
    }

    [Fact]
    public void The_start_is_written_in_UTC_to_the_millisecond_and_what_is_not_known_as_null()
    {
        FinishedRun small = Runs.Small();
        var run = new FinishedRun
        {
            Descriptor = small.Descriptor with { StartedAt = new DateTimeOffset(2027, 3, 14, 10, 26, 53, 412, TimeSpan.FromHours(1)) },
            Pulses = small.Pulses,
            SecondsPerTick = small.SecondsPerTick,
            Speed = small.Speed,
            Events = small.Events,
        };
        string folder = RunPackageWriter.Write(_folder.Root, run);
        string text = File.ReadAllText(Path.Combine(folder, "datapackage.json"));
        Assert.Contains("\"startedAt\": \"2027-03-14T09:26:53.412Z\"", text, StringComparison.Ordinal);
        Assert.Contains("\"lastRpm\": null", text, StringComparison.Ordinal);
        Assert.EndsWith("20270314T092653Z-oak-rim", folder, StringComparison.Ordinal);
    }
}
