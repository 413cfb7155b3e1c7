using Acquire.Recording;

namespace Acquire.Faults;

/// <summary>Power cuts. The calls that the real program makes on its files are recorded (strace(1)): of a capture from its start to its run in the
/// library, and of a recovery. Each case plays them up to some point, leaves of the unsynced ones any part, and recovers: all that was synced is
/// there, everything can be read, and nothing half-finished shows as finished.</summary>
/// <remarks>A device that logs its writes would say the same of the whole file system; it needs the kernel's device mapper. This way says nothing of
/// the file system's own soundness, and takes more liberties with the order of writes and names than any file system does.</remarks>
internal static class PowerSuite
{
    private const int Cuts = 3000;
    private const int SampleCuts = 150;

    public static void Break(Extent extent, Tally tally)
    {
        var traces = new List<Trace> { Capture(), Recovery() };
        tally.Note("calls recorded", traces.Sum(t => t.Calls.Count));
        Parallel.ForEach(extent.Seeds(Cuts, SampleCuts), seed =>
        {
            Trace trace = traces[seed % traces.Count];
            var random = new Random(seed);
            int until = random.Next(trace.Calls.Count + 1);
            var survives = (CutDisk.Survives)random.Next(4);
            tally.Count($"seed {seed}, {trace.Name}, cut after call {until} of {trace.Calls.Count}, {survives} of the unsynced survives", Cut(trace, until, survives, random));
        });
    }

    private static List<string> Cut(Trace trace, int until, CutDisk.Survives survives, Random random)
    {
        var wrong = new List<string>();
        CutDisk disk = trace.Begin();
        var synced = new Dictionary<string, JournalTruth>();
        Look(disk, synced);
        foreach (DiskCall call in trace.Calls.Take(until))
        {
            disk.Take(call);
            if (call.Kind == DiskCallKind.Sync)
                Look(disk, synced);
        }

        using var scratch = new Scratch();
        disk.WriteTo(trace.Root, scratch.Folder, survives, random);
        string library = Directory.CreateDirectory(scratch.At("runs")).FullName;
        bool some = Directory.Exists(Path.Combine(library, RunLibrary.OpenFolder));
        foreach (LibraryRun run in RunLibrary.List(library))
        {
            foreach (RunProblem problem in RunVerifier.Verify(run.Folder))
                wrong.Add($"before recovery {run.Name} shows as finished, but {problem.File} {problem.What}");
        }

        // Damaged stretches of what was not synced yet may be said; the runs must be there all the same.
        if (some)
            Called.Acquire(scratch.Folder, "recover", "--library", library).Expect(wrong, "recover", 0, 1);
        LibraryCheck.Verify(library, wrong);
        LibraryCheck.Holds(library, synced.Values.SelectMany(t => t.Runs), wrong);
        return wrong;
    }

    private static void Look(CutDisk disk, Dictionary<string, JournalTruth> synced)
    {
        foreach (string path in disk.Files.Where(f => f.EndsWith(".journal", StringComparison.Ordinal)))
        {
            synced[path] = JournalTruth.Read(disk.Synced(path));
        }
    }

    private static Trace Capture()
    {
        using var scratch = new Scratch();
        string root = Directory.CreateDirectory(scratch.At("disk")).FullName;
        string log = scratch.At("calls");
        using (var board = new SpinningBoard(scratch.At("board"), new SpinText()))
        using (var capture = new CaptureProcess([.. DiskCalls.Strace, log], "capture", "--port", scratch.At("board"), "--library", Path.Combine(root, "runs"), "--marks", "8", "--max-rpm", "20000"))
        {
            using var never = new ManualResetEventSlim();
            for (int i = 0; i < 600 && double.IsNaN(board.OpenSinceS) && !capture.HasEnded; i++)
                never.Wait(50);
            never.Wait(6000);
            if (!capture.Interrupt(60))
                throw new TimeoutException($"The capture did not end: {capture.Error}");
        }

        List<DiskCall> calls = DiskCalls.Read(log, root);
        if (!calls.Any(c => c.Kind == DiskCallKind.Rename))
            throw new InvalidDataException("The recorded capture made no run.");
        return new Trace("capture", root, calls, () => new CutDisk());
    }

    private static Trace Recovery()
    {
        using var scratch = new Scratch();
        string root = Directory.CreateDirectory(scratch.At("disk")).FullName;
        string open = Directory.CreateDirectory(Path.Combine(root, "runs", RunLibrary.OpenFolder)).FullName;
        string journal = Path.Combine(open, "sample.journal");
        byte[] bytes = SampleJournal.Make();
        File.WriteAllBytes(journal, bytes);
        string log = scratch.At("calls");
        using (var recover = new CaptureProcess([.. DiskCalls.Strace, log], "recover", "--library", Path.Combine(root, "runs")))
        {
            using var never = new ManualResetEventSlim();
            for (int i = 0; i < 600 && !recover.HasEnded; i++)
                never.Wait(50);
        }

        return new Trace("recovery", root, DiskCalls.Read(log, root), () => CutDisk.Holding([Path.Combine(root, "runs"), open], journal, bytes));
    }

    private sealed record Trace(string Name, string Root, List<DiskCall> Calls, Func<CutDisk> Begin);
}
