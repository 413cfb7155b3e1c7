using System.Diagnostics;
using System.Text.Json;
using Acquire.Acquisition;
using Acquire.Acquisition.Lines;
using Acquire.Acquisition.Simulation;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Commands;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Service.Tests.Capture;

public sealed class FinishProcessTests : IDisposable
{
    private const int SoonMs = 30_000;
    private readonly string _folder = Directory.CreateTempSubdirectory("acquire-finish-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    private string Library => Path.Combine(_folder, "runs");

    [Fact]
    public void A_process_of_its_own_makes_the_very_package_that_the_capture_would()
    {
        UnsavedRun run = Leave();
        string here = RunFinisher.Of(run.Journal, Path.Combine(_folder, "here"), NullLogger.Instance).Finish(run);
        string there = new FinishProcess(Library, NullLogger.Instance).Finish(run);
        Assert.Equal(Path.GetFileName(here), Path.GetFileName(there));
        Assert.Equal(Library, Path.GetDirectoryName(there));
        foreach (string file in Directory.GetFiles(here).Select(f => Path.GetFileName(f)).Where(f => f.EndsWith(".csv", StringComparison.Ordinal)))
            Assert.Equal(File.ReadAllBytes(Path.Combine(here, file)), File.ReadAllBytes(Path.Combine(there, file)));
        Assert.Equal(RunPackageReader.ReadDescriptor(here).Result, RunPackageReader.ReadDescriptor(there).Result);
        Assert.Empty(Directory.GetDirectories(Library, RunPackageWriter.UnfinishedPrefix + "*"));
    }

    [Fact]
    public void A_run_that_is_saved_already_is_not_saved_again_by_it()
    {
        UnsavedRun run = Leave();
        var process = new FinishProcess(Library, NullLogger.Instance);
        string folder = process.Finish(run);
        Assert.Equal(folder, process.Finish(run with { MayBeSaved = true }));
        Assert.Single(RunLibrary.List(Library));
    }

    [Fact]
    public void What_the_process_cannot_do_the_capture_does_and_says_why_not()
    {
        UnsavedRun run = Leave();
        var log = new KeptLog();
        var process = new FinishProcess(Library, log);
        RunFormatException why = Assert.Throws<RunFormatException>(() => process.Finish(run with { LastPulse = run.FirstPulse + 2 }));
        Assert.Contains("four or more", why.Message, StringComparison.Ordinal);
        Assert.Single(log.Lines, l => l.Contains("the capture saves it", StringComparison.Ordinal) && l.Contains("four or more", StringComparison.Ordinal));
    }

    [Fact]
    public void A_disk_that_takes_nothing_is_told_as_that_so_that_it_is_tried_again()
    {
        UnsavedRun run = Leave();
        string file = Path.Combine(_folder, "no folder");
        File.WriteAllText(file, "");
        var log = new KeptLog();
        Assert.ThrowsAny<IOException>(() => new FinishProcess(file, log).Finish(run));
        Assert.Empty(log.Lines);
    }

    [Fact]
    public void Marks_that_look_wrong_are_said_in_the_log_of_the_capture()
    {
        UnsavedRun run = Leave(marksSaid: 2);
        var log = new KeptLog();
        new FinishProcess(Library, log).Finish(run);
        Assert.Single(log.Lines, l => l.Contains("--marks", StringComparison.Ordinal));
    }

    [Fact]
    public void The_process_ends_when_the_one_that_asked_is_gone()
    {
        string never = Path.Combine(_folder, "never.journal");
        using (var make = Process.Start("mkfifo", [never]))
            make.WaitForExit();
        using Process asked = OwnProcess.Start(["recover", FinishProcess.Option]);
        asked.StandardInput.WriteLine(Question(new UnsavedRun(never, 0, 9, EndReasons.Stopped)));
        asked.StandardInput.Flush();
        string saving = Path.Combine(Library, ".open", "saving");
        Assert.True(SpinWait.SpinUntil(() => File.Exists(saving), SoonMs));
        Assert.False(asked.WaitForExit(300));
        asked.StandardInput.Close();
        Assert.True(asked.WaitForExit(SoonMs));
        Assert.Equal(ExitCode.Failed, asked.ExitCode);
        Assert.True(StillFinishing.WaitUntilNone(Library));
    }

    [Fact]
    public async Task A_recovery_waits_for_a_process_that_a_killed_capture_left()
    {
        Directory.CreateDirectory(Library);
        Task<RecoveryReport> recovery;
        using (StillFinishing.Enter(Library))
        using (StillFinishing.Enter(Library))
        {
            recovery = Task.Run(() => new Recovery(Library, TimeProvider.System, NullLogger.Instance).Run(), TestContext.Current.CancellationToken);
            await Task.Delay(200, TestContext.Current.CancellationToken);
            Assert.False(recovery.IsCompleted);
        }

        Assert.Empty((await recovery.WaitAsync(TimeSpan.FromMilliseconds(SoonMs), TestContext.Current.CancellationToken)).Problems);
    }

    [Theory]
    [InlineData("")]
    [InlineData("null")]
    [InlineData("{\"Library\":\"runs\"}")]
    [InlineData("{\"Library\":\"runs\",\"Run\":{\"Journal\":")]
    public void A_question_without_its_parts_is_refused(string question)
    {
        using var error = new StringWriter();
        using var output = new StringWriter();
        var surroundings = new Surroundings { In = new StringReader(question), Out = output, Error = error, CurrentFolder = _folder, ProgramFolder = _folder };
        Assert.Equal(2, AcquireCommand.Run(["recover", FinishProcess.Option], surroundings));
        Assert.StartsWith("acquire recover: standard input, line 1", error.ToString(), StringComparison.Ordinal);
        Assert.Empty(output.ToString());
    }

    private string Question(UnsavedRun run) => JsonSerializer.Serialize(new FinishQuestion(Library, run), FinishJson.Default.FinishQuestion);

    // A journal with a whole spin, and where in it the run is.
    private UnsavedRun Leave(int marksSaid = 1)
    {
        var spin = new SimulatedSpin(new SpinScenario { Spins = [new SpinPlan { RestBeforeS = 1 }.Lasting(40)], RestAfterS = 20 });
        var options = new CaptureOptions { Port = "simulated", Library = Path.Combine(_folder, "captured"), Marks = marksSaid };
        using SimulatedPulseSource source = SimulatedPulseSource.Synthetic(spin);
        var chain = new LiveChain(SourceFormats.CreateDecoder(options.Format, options.TickHz), RunSettings.From(options));
        using var journals = new CaptureJournals(options, source, TimeProvider.System, chain.Decoder);
        source.Start();
        var found = new List<RunTransition>();
        while (!source.Blocks.IsFinished)
        {
            source.Blocks.Wait(1000);
            while (source.Blocks.TryRead(out SourceBlock block))
            {
                journals.Current.Writer.TryAppend(block);
                chain.Take(block, found);
            }
        }

        chain.Finish(found);
        chain.EndByHand(found);
        Assert.True(journals.Current.Writer.Flush());
        RunTransition end = Assert.Single(found, t => t.Kind == RunTransitionKind.Ended);
        return new UnsavedRun(journals.Current.Writer.Path, end.FirstPulse, end.LastPulse, EndReasons.Stopped);
    }
}
