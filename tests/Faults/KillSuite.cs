using Acquire.Recording;

namespace Acquire.Faults;

/// <summary>Captures of 1,000 pulses a second that are killed at random moments, each followed by the next on the same library and port. All but
/// the last second's pulses must be there, in one run each spin, verified; and the next capture must go on.</summary>
internal static class KillSuite
{
    private const int Kills = 500;
    private const int SampleKills = 6;
    private const int Benches = 2;
    private const int RecoversByItself = 4; // every so many kills the next capture recovers, else acquire recover does
    private const double OpensWithinS = 30;

    public static void Break(Extent extent, Tally tally)
    {
        int[] seeds = [.. extent.Seeds(Kills, SampleKills)];
        Parallel.ForEach(
            seeds.Chunk(Math.Max(1, (seeds.Length + Benches - 1) / Benches)), new ParallelOptions { MaxDegreeOfParallelism = Benches }, part => OnBench(part, tally));
    }

    private static void OnBench(int[] seeds, Tally tally)
    {
        using var scratch = new Scratch();
        string port = scratch.At("board");
        string library = scratch.At("runs");
        using var board = new SpinningBoard(port, new SpinText());
        var owed = new List<TrueRun>();
        foreach (int seed in seeds)
        {
            var wrong = new List<string>();
            board.LaunchAgain();
            Kill(board, port, library, seed, owed, wrong, tally);
            bool byItself = seed % RecoversByItself == 0 && seed != seeds[^1];
            if (!byItself)
            {
                Called.Acquire(scratch.Folder, "recover", "--library", library).Expect(wrong, "recover", 0);
                LibraryCheck.Holds(library, owed, wrong);
                LibraryCheck.Verify(library, wrong);
                tally.Note("runs recovered", owed.Count);
                owed.Clear();
                foreach (LibraryRun run in RunLibrary.List(library))
                    Directory.Delete(run.Folder, recursive: true);
            }

            tally.Count($"seed {seed}", wrong);
        }
    }

    private static void Kill(SpinningBoard board, string port, string library, int seed, List<TrueRun> owed, List<string> wrong, Tally tally)
    {
        using var capture = new CaptureProcess([], "capture", "--port", port, "--library", library, "--marks", "8", "--max-rpm", "20000");
        if (!SpinWaitFor(() => !double.IsNaN(board.OpenSinceS) || capture.HasEnded, OpensWithinS) || capture.HasEnded)
        {
            wrong.Add($"the capture did not go on: {capture.Error}");
            return;
        }

        double opened = board.OpenSinceS;
        Wait(0.2 + (new Random(seed).NextDouble() * 2.8));
        double killed = board.NowS;
        capture.Kill();
        Seen(board, library, opened, killed, owed, wrong, tally);
        SpinWaitFor(() => double.IsNaN(board.OpenSinceS), OpensWithinS);
    }

    private static void Seen(SpinningBoard board, string library, double opened, double killed, List<TrueRun> owed, List<string> wrong, Tally tally)
    {
        string? journal = Directory.GetFiles(Path.Combine(library, RunLibrary.OpenFolder), "*.journal").MaxBy(File.GetCreationTimeUtc);
        if (journal is null)
        {
            wrong.Add("no journal was left");
            return;
        }

        JournalTruth truth = JournalTruth.Read(File.ReadAllBytes(journal));
        var there = truth.Counters.ToHashSet();
        List<uint> wanted = board.Sent(opened, killed - 1);

        // Opening a port throws away what it held: what the board sent in that instant reached nobody.
        List<uint> missing = [.. wanted.Where(c => !there.Contains(c))];
        bool onlyFirst = missing.Count == 0 || (there.Count > 0 && missing.Count < 100 && wanted.IndexOf(missing[^1]) == missing.Count - 1);
        if (!onlyFirst)
            wrong.Add($"{missing.Count} of {wanted.Count} pulses from before the last second are missing, {there.Count} are there");
        tally.Note("went on in the same run", truth.Resumed);
        tally.Note("pulses", wanted.Count);
        owed.AddRange(truth.Runs);
    }

    private static bool SpinWaitFor(Func<bool> what, double atMostS)
    {
        long began = TimeProvider.System.GetTimestamp();
        while (!what())
        {
            if (TimeProvider.System.GetElapsedTime(began).TotalSeconds > atMostS)
                return false;
            Wait(0.005);
        }

        return true;
    }

    private static void Wait(double s)
    {
        using var never = new ManualResetEventSlim();
        never.Wait(TimeSpan.FromSeconds(s));
    }
}
