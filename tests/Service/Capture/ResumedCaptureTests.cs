using Acquire.Acquisition;
using Acquire.Acquisition.Simulation;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Plans;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Service.Tests.Capture;

public sealed class ResumedCaptureTests : IDisposable
{
    private readonly string _library = Directory.CreateTempSubdirectory("acquire-resumed-").FullName;

    public void Dispose() => Directory.Delete(_library, recursive: true);

    private string Open => Path.Combine(_library, ".open");

    [Fact]
    public void A_journal_cut_short_in_mid_spin_is_gone_on_with()
    {
        using Left left = Leave();
        ResumedCapture? found = ResumedCapture.Find(left.Options, left.Source, TimeProvider.System);
        Assert.NotNull(found);
        Assert.Equal(RunPhase.Spinning, found.Chain.Phase);
        Assert.False(found.Chain.LinkUp);
        Assert.Equal(new FileInfo(left.Journal).Length, found.WholeBytes + found.TornBytes);
        Assert.Equal(1, found.Runs);
    }

    [Fact]
    public void A_torn_tail_is_taken_off_and_counted()
    {
        using Left left = Leave();
        long whole = new FileInfo(left.Journal).Length;
        File.AppendAllText(left.Journal, "torn");
        ResumedCapture found = ResumedCapture.Find(left.Options, left.Source, TimeProvider.System)!;
        Assert.Equal((whole, 4), (found.WholeBytes, found.TornBytes));
        using (JournalWriter writer = JournalWriter.Reopen(left.Journal, wholeBytes: found.WholeBytes))
            writer.TryAppend(found.LastHostNs + 1, new CaptureResumed(found.LastHostNs, found.TornBytes));
        using var reader = new JournalReader(left.Journal);
        JournalEntryKind last = default;
        while (reader.TryRead(out JournalRecord record))
            last = record.Kind;
        Assert.Equal((JournalEntryKind.CaptureResumed, 0L, 0L), (last, reader.BytesSkipped, reader.TornTailBytes));
    }

    [Fact]
    public void Another_set_up_another_setting_or_too_long_a_time_make_another_run()
    {
        using Left left = Leave();
        CaptureOptions[] others =
        [
            left.With(o => o.Top = "another"), left.With(o => o.Marks = 2), left.With(o => o.Factors["tilt_deg"] = 3), left.With(o => o.StopBelowRpm = 100),
        ];
        Assert.All(others, other => Assert.Null(ResumedCapture.Find(other, left.Source, TimeProvider.System)));
        Assert.NotNull(ResumedCapture.Find(left.Options, left.Source, new Later(899)));
        Assert.Null(ResumedCapture.Find(left.Options, left.Source, new Later(901)));
        Assert.Null(ResumedCapture.Find(left.Options, left.Source, new Later(-60)));
    }

    [Fact]
    public void A_damaged_journal_and_one_ended_in_order_are_left_to_the_recovery()
    {
        using Left left = Leave();
        byte[] bytes = File.ReadAllBytes(left.Journal);
        bytes[bytes.Length / 2] ^= 0x10;
        File.WriteAllBytes(left.Journal, bytes);
        Assert.Null(ResumedCapture.Find(left.Options, left.Source, TimeProvider.System));
        bytes[bytes.Length / 2] ^= 0x10;
        File.WriteAllBytes(left.Journal, bytes);
        using (JournalWriter writer = JournalWriter.Reopen(left.Journal))
            writer.TryAppend(1, new CaptureEnded("ended"));
        Assert.Null(ResumedCapture.Find(left.Options, left.Source, TimeProvider.System));
    }

    [Fact]
    public void What_was_half_written_and_what_never_began_are_cleared_by_a_recovery()
    {
        Directory.CreateDirectory(Path.Combine(_library, ".writing-20270314T092653Z-run-0"));
        Directory.CreateDirectory(Open);
        File.WriteAllText(Path.Combine(Open, "empty.journal"), "");
        File.WriteAllText(Path.Combine(Open, "begun.journal"), "acqjn");
        RecoveryReport report = new Recovery(_library, TimeProvider.System, NullLogger.Instance).Run();
        Assert.Empty(report.Problems);
        Assert.Empty(report.Runs);
        Assert.Equal([Open], Directory.GetDirectories(_library));
        Assert.Empty(Directory.GetFiles(Open));
    }

    [Fact]
    public void What_happened_to_the_capture_during_a_run_is_among_its_events()
    {
        using Left left = Leave();
        using (JournalWriter writer = JournalWriter.Reopen(left.Journal))
        {
            long now = TimeProvider.System.MonotonicNs() - 30_000_000_000;
            writer.TryAppend(now, new CaptureResumed(now - 2_500_000_000, 3));
            writer.TryAppend(now, new JournalNote("no room", 5, RunEventNames.DataLost));
            writer.TryAppend(now, new JournalNote("of no matter to a run"));
            writer.TryAppend(now + 60_000_000_000, new JournalNote("after the run", 0, RunEventNames.DiskTrouble));
        }

        JournalRuns runs = JournalRuns.Read(left.Journal);
        BoundRun run = Assert.Single(runs.Runs);
        string folder = new RunFinisher(RunSettings.From(left.Options), _library, NullLogger.Instance).Finish(new UnsavedRun(left.Journal, run.FirstPulse, run.LastPulse, run.Reason));
        RunEvent[] happened = [.. RunPackageReader.ReadEvents(folder)];
        Assert.Contains(happened, e => e.Event == RunEventNames.DataLost && e.Detail.StartsWith("5 bytes", StringComparison.Ordinal));
        Assert.Contains(happened, e => e.Event == RunEventNames.CaptureInterrupted && e.Detail.Contains("2.5 s", StringComparison.Ordinal));
        Assert.DoesNotContain(happened, e => e.Event == RunEventNames.DiskTrouble);
        Assert.DoesNotContain(happened, e => e.Detail.Contains("no matter", StringComparison.Ordinal));
    }

    [Fact]
    public void A_run_that_was_saved_but_not_noted_before_the_cut_is_not_saved_again()
    {
        using Left left = Leave();
        JournalRuns runs = JournalRuns.Read(left.Journal);
        BoundRun run = Assert.Single(runs.Runs);
        var finisher = new RunFinisher(RunSettings.From(left.Options), _library, NullLogger.Instance);
        string folder = finisher.Finish(new UnsavedRun(left.Journal, run.FirstPulse, run.LastPulse, run.Reason));
        using JournalWriter writer = JournalWriter.Reopen(left.Journal);
        var journal = new OpenJournal(writer, 0, 0);
        using var finishing = new FinishingThread(finisher.Finish, NullLogger.Instance);

        finishing.Add(new EndedRun(journal, run.Number, run.FirstPulse, run.LastPulse, run.Reason, MayBeSaved: true));
        finishing.WaitForAll();

        Assert.True(finishing.TryTake(out FinishedPackage? done));
        Assert.Equal((folder, null), (done!.Folder, done.Fault));
        Assert.Single(Directory.GetDirectories(_library), d => !Path.GetFileName(d).StartsWith('.'));
    }

    [Fact]
    public void A_capture_that_follows_a_plan_goes_on_with_the_row_it_was_in_and_becomes_a_run_of_it()
    {
        string sheet = Path.Combine(_library, "plan.csv");
        File.WriteAllText(sheet, "plan,row,block,cover,factors.gap_mm\nP,1,1,ring,6\nP,2,1,none,\n");
        using Left left = Leave(sheet);
        Assert.Null(ResumedCapture.Find(left.Options, left.Source, TimeProvider.System)); // another plan, or none, is another capture
        ResumedCapture resumed = ResumedCapture.Find(left.Options, left.Source, TimeProvider.System, "P")!;
        using (PlanFollower plan = PlanFollower.Begin(PlanSheetReader.Read(sheet), left.Options, resumed, NullLogger.Instance))
        {
            Assert.Equal("now row 1 of 2 (block 1): cover=ring, gap_mm=6", plan.Live.Words);
            RunBegan next = plan.Begin("another journal", 1, 0);
            Assert.Equal((2, "none", 0), (next.Plan!.Row, next.Setup!.Cover, next.Setup.Factors.Count));
        }

        // Not gone on with: the recovery makes the run, with the row's set-up, and since it was cut short the row is open again.
        using (PlanFollower plan = PlanFollower.Begin(PlanSheetReader.Read(sheet), left.Options, null, NullLogger.Instance))
        {
            Assert.Equal("saving row 1 of 2 (block 1): cover=ring, gap_mm=6", plan.Live.Words);
            string folder = Assert.Single(new Recovery(_library, TimeProvider.System, NullLogger.Instance).Run().Runs);
            RunDescriptor run = RunPackageReader.ReadDescriptor(folder);
            Assert.Equal((new RunPlan("P", 1, 1), "ring", 6.0, "cut short"), (run.Plan, run.Setup.Cover, run.Setup.Factors["gap_mm"], run.Setup.Top));
            Assert.Matches(@"^the capture was cut short at \d+ rpm$", run.Spoilt);
            Assert.True(SpinWait.SpinUntil(() => plan.Live.Words.StartsWith("next row 1 of 2 (block 1): cover=ring, gap_mm=6, again (the capture was cut short", StringComparison.Ordinal), 10_000), plan.Live.Words);
        }
    }

    // A journal as a killed capture leaves it: what was received up to the middle of a spin, at host times that end now.
    private Left Leave(string plan = "")
    {
        var spin = new SimulatedSpin(new SpinScenario { Spins = [new SpinPlan { RestBeforeS = 1 }], RestAfterS = 1 });
        var options = new CaptureOptions { Port = "simulated", Library = _library, Top = "cut short", Plan = plan };
        SimulatedPulseSource source = SimulatedPulseSource.Synthetic(spin);
        var chain = new LiveChain(Acquire.Acquisition.Lines.SourceFormats.CreateDecoder(options.Format, options.TickHz), RunSettings.From(options));
        using PlanFollower? follower = plan.Length == 0 ? null : PlanFollower.Begin(PlanSheetReader.Read(plan), options, null, NullLogger.Instance);
        var journals = new CaptureJournals(options, source, TimeProvider.System, chain.Decoder, null, follower);
        const long lengthNs = 30_000_000_000;
        long shift = TimeProvider.System.MonotonicNs() - lengthNs - SimulatedPulseSource.SyntheticStartNs;
        source.Start();
        var found = new List<RunTransition>();
        while (source.Blocks.Wait(1000) && source.Blocks.TryRead(out SourceBlock block) && block.HostNs < lengthNs + SimulatedPulseSource.SyntheticStartNs)
        {
            var moved = new SourceBlock(block.Kind, block.HostNs + shift, block.Payload);
            journals.Current.Writer.TryAppend(moved);
            chain.Take(moved, found);
            foreach (RunTransition t in found.Where(t => t.Kind == RunTransitionKind.Began))
                journals.Current.Writer.TryAppend(moved.HostNs, journals.Began(journals.Current, 1, t.FirstPulse));
            found.Clear();
        }

        string journal = journals.Current.Writer.Path;
        journals.Dispose();
        return new Left(options, source, journal);
    }

    private sealed record Left(CaptureOptions Options, IPulseSource Source, string Journal) : IDisposable
    {
        public CaptureOptions With(Action<CaptureOptions> change)
        {
            var other = new CaptureOptions { Port = Options.Port, Library = Options.Library, Top = Options.Top };
            change(other);
            return other;
        }

        public void Dispose() => Source.Dispose();
    }

    private sealed class Later(double seconds) : TimeProvider
    {
        public override long GetTimestamp() => System.GetTimestamp() + (long)(seconds * TimestampFrequency);
    }
}
