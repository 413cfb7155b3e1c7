namespace Acquire.Recording.Tests;

public sealed class VerifierTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();
    private readonly string _run;

    public VerifierTests() => _run = RunPackageWriter.Write(_folder.Root, Runs.Small());

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void A_run_as_written_has_no_problem_nor_has_one_with_a_report()
    {
        Assert.Empty(RunVerifier.Verify(_run));
        File.WriteAllText(Path.Combine(_run, "report.html"), "<!doctype html>");
        Assert.Empty(RunVerifier.Verify(_run));
        Assert.Empty(RunVerifier.Verify(_run + Path.DirectorySeparatorChar));
    }

    [Fact]
    public void Any_byte_changed_in_any_file_of_data_is_found()
    {
        foreach (string file in new[] { "pulses.csv", "speed.csv", "events.csv" })
        {
            string path = Path.Combine(_run, file);
            byte[] bytes = File.ReadAllBytes(path);
            for (int at = 0; at < bytes.Length; at += Math.Max(1, bytes.Length / 40))
            {
                byte before = bytes[at];
                bytes[at] ^= 1;
                File.WriteAllBytes(path, bytes);
                Assert.Contains(RunVerifier.Verify(_run), problem => problem.File == file && problem.What.Contains("content was changed", StringComparison.Ordinal));
                bytes[at] = before;
            }

            File.WriteAllBytes(path, bytes);
        }

        Assert.Empty(RunVerifier.Verify(_run));
    }

    [Fact]
    public void A_file_missing_added_or_cut_is_named()
    {
        File.Delete(Path.Combine(_run, "events.csv"));
        File.WriteAllText(Path.Combine(_run, "extra.txt"), "");
        Directory.CreateDirectory(Path.Combine(_run, "sub"));
        string speed = Path.Combine(_run, "speed.csv");
        File.WriteAllBytes(speed, File.ReadAllBytes(speed)[..^1]);
        AssertProblem("events.csv", "is missing");
        AssertProblem("extra.txt", "not in the descriptor");
        AssertProblem("sub", "not in the descriptor");
        AssertProblem("speed.csv", "bytes, expected");
        AssertProblem("speed.csv", "content was changed");
        Assert.All(RunVerifier.Verify(_run), problem => Assert.Equal("20270314T092653Z-oak-rim", problem.Run));
    }

    [Theory]
    [InlineData("\"received\": 401", "\"received\": 400", "counts.received is 400, but pulses.csv has 401")]
    [InlineData("\"marks\": 400", "\"marks\": 399", "counts.marks is 399, but pulses.csv has 400")]
    [InlineData("\"extra\": 1,", "\"extra\": 2,", "counts.extra is 2, but pulses.csv has 1")]
    [InlineData("\"name\": \"u_rpm\"", "\"name\": \"s_rpm\"", "schema of speed")]
    [InlineData("\"name\": \"events\"", "\"name\": \"happened\"", "no resource events")]
    [InlineData("\"path\": \"events.csv\"", "\"path\": \"../events.csv\"", "a file beside it")]
    [InlineData("\"hash\": \"sha256:", "\"sum\": \"sha256:", "says no hash")]
    [InlineData("\"version\": 1", "\"version\": 7", "version")]
    public void A_descriptor_that_contradicts_the_files_is_named(string from, string to, string what)
    {
        string path = Path.Combine(_run, "datapackage.json");
        string text = File.ReadAllText(path);
        int at = text.IndexOf(from, StringComparison.Ordinal);
        Assert.True(at >= 0);
        File.WriteAllText(path, text[..at] + to + text[(at + from.Length)..]);
        AssertProblem("datapackage.json", what);
    }

    [Fact]
    public void A_time_that_goes_back_is_named_by_its_row()
    {
        FinishedRun small = Runs.Small();
        var pulses = small.Pulses.ToList();
        pulses[7] = pulses[7] with { Ticks = pulses[6].Ticks - 5 };
        string run = RunPackageWriter.Write(_folder.Root, Runs.Make(pulses, small.SecondsPerTick, small.Speed, small.Events, new RunSetup()));
        RunProblem problem = Assert.Single(RunVerifier.Verify(run));
        Assert.Equal("pulses.csv", problem.File);
        Assert.StartsWith("row 8: time_s goes back", problem.What, StringComparison.Ordinal);
    }

    [Fact]
    public void A_library_names_every_broken_run_and_every_unfinished_folder()
    {
        string other = RunPackageWriter.Write(_folder.Root, Runs.Small("other"));
        File.Delete(Path.Combine(other, "datapackage.json"));
        Directory.CreateDirectory(_folder.At(".open"));
        Directory.CreateDirectory(_folder.At(".writing-20270314T092653Z-x-0"));
        IReadOnlyList<RunProblem> problems = RunVerifier.VerifyLibrary(_folder.Root);
        Assert.Equal(2, problems.Count);
        Assert.Contains(problems, problem => problem.Run == "20270314T092653Z-other" && problem.File == "datapackage.json");
        Assert.Contains(problems, problem => problem.Run == ".writing-20270314T092653Z-x-0" && problem.What.StartsWith("unfinished", StringComparison.Ordinal));
    }

    [Fact]
    public void A_folder_that_is_not_there_is_a_problem_and_no_crash()
    {
        Assert.Single(RunVerifier.Verify(_folder.At("nowhere")));
        Assert.Single(RunVerifier.VerifyLibrary(_folder.At("nowhere")));
    }

    private void AssertProblem(string file, string what) =>
        Assert.Contains(RunVerifier.Verify(_run), problem => problem.File == file && problem.What.Contains(what, StringComparison.Ordinal));
}
