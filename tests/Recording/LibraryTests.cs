namespace Acquire.Recording.Tests;

public sealed class LibraryTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void Runs_are_listed_by_their_start_each_with_its_descriptor_or_the_problem()
    {
        Write(Runs.StartedAt.AddHours(2), "b");
        Write(Runs.StartedAt, "c");
        string broken = Write(Runs.StartedAt.AddHours(1), "a");
        File.WriteAllText(Path.Combine(broken, "datapackage.json"), "{");
        Directory.CreateDirectory(_folder.At(".open"));
        Directory.CreateDirectory(_folder.At(".writing-20270314T092653Z-x-0"));
        File.WriteAllText(_folder.At("notes.txt"), "");

        IReadOnlyList<LibraryRun> runs = RunLibrary.List(_folder.Root);
        Assert.Equal(["20270314T092653Z-c", "20270314T102653Z-a", "20270314T112653Z-b"], runs.Select(run => run.Name));
        Assert.Equal("c", runs[0].Descriptor!.Setup.Top);
        Assert.Null(runs[0].Problem);
        Assert.Null(runs[1].Descriptor);
        Assert.Contains("datapackage.json", runs[1].Problem, StringComparison.Ordinal);
    }

    [Fact]
    public void A_library_that_does_not_exist_has_no_runs() => Assert.Empty(RunLibrary.List(_folder.At("nowhere")));

    [Fact]
    public void A_run_is_found_by_its_name_and_by_its_path()
    {
        string run = Write(Runs.StartedAt, "c");
        Assert.Equal(run, RunLibrary.Resolve("20270314T092653Z-c", _folder.Root));
        Assert.Equal(run, RunLibrary.Resolve(run, _folder.At("elsewhere")));
        Assert.Equal(run, RunLibrary.Resolve(run + Path.DirectorySeparatorChar, _folder.Root));
        Assert.Null(RunLibrary.Resolve("20270314T092653Z-d", _folder.Root));
        Assert.Null(RunLibrary.Resolve("", _folder.Root));
    }

    private string Write(DateTimeOffset startedAt, string top)
    {
        FinishedRun small = Runs.Small(top);
        return RunPackageWriter.Write(_folder.Root, new FinishedRun
        {
            Descriptor = small.Descriptor with { StartedAt = startedAt },
            Pulses = small.Pulses,
            SecondsPerTick = small.SecondsPerTick,
            Speed = small.Speed,
            Events = small.Events,
        });
    }
}
