namespace Acquire.Recording.Tests;

public sealed class RunTrashTests : IDisposable
{
    private static readonly DateTimeOffset At = new(2027, 4, 1, 12, 0, 0, TimeSpan.Zero);
    private readonly TemporaryFolder _folder = new();
    private readonly string _run;
    private readonly string _name;

    public RunTrashTests()
    {
        _run = RunPackageWriter.Write(_folder.Root, Runs.Small());
        _name = Path.GetFileName(_run);
    }

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void A_deleted_run_lies_in_the_trash_with_a_note_of_when_and_is_brought_back_whole()
    {
        string kept = RunTrash.Delete(_run, At);
        Assert.Equal(_folder.At(".trash", _name), kept);
        Assert.Empty(RunLibrary.List(_folder.Root));
        Assert.Empty(RunVerifier.VerifyLibrary(_folder.Root));
        Assert.Contains("\"deletedAt\": \"2027-04-01T12:00:00.000Z\"", File.ReadAllText(kept + ".deleted.json"), StringComparison.Ordinal);
        Assert.Equal([_name], RunTrash.List(_folder.Root));

        Assert.Equal(_run, RunTrash.Restore(_folder.Root, _name));
        Assert.Empty(RunVerifier.Verify(_run));
        Assert.Empty(Directory.GetFileSystemEntries(_folder.At(".trash")));
    }

    [Fact]
    public void Two_deleted_runs_of_one_name_are_both_kept_and_come_back_one_at_a_time()
    {
        RunTrash.Delete(_run, At);
        Assert.Equal(_run, RunPackageWriter.Write(_folder.Root, Runs.Small()));
        Assert.Equal(_folder.At(".trash", _name + "-2"), RunTrash.Delete(_run, At));
        Assert.Equal(_run, RunTrash.Restore(_folder.Root, _name + "-2"));
        Assert.Contains("already", Assert.Throws<RunEditException>(() => RunTrash.Restore(_folder.Root, _name)).Message, StringComparison.Ordinal);
        Assert.Equal([_name], RunTrash.List(_folder.Root));
    }

    [Fact]
    public void A_lost_or_forged_note_leads_nowhere_else()
    {
        string note = RunTrash.Delete(_run, At) + ".deleted.json";
        File.WriteAllText(note, """{"run":"../../elsewhere","deletedAt":"2027-04-01T12:00:00Z"}""");
        Assert.Equal(_run, RunTrash.Restore(_folder.Root, _name));
        File.Delete(RunTrash.Delete(_run, At) + ".deleted.json");
        Assert.Equal(_run, RunTrash.Restore(_folder.Root, _name));
    }

    [Theory]
    [InlineData("no-such-run")]
    [InlineData("../20270314T092653Z-oak-rim")]
    [InlineData("")]
    public void What_is_not_in_the_trash_is_refused_with_what_is(string name)
    {
        RunTrash.Delete(_run, At);
        string message = Assert.Throws<RunEditException>(() => RunTrash.Restore(_folder.Root, name)).Message;
        Assert.EndsWith("there are " + _name, message, StringComparison.Ordinal);
    }
}
