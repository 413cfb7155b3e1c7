using Acquire.Recording;

namespace Acquire.Faults;

/// <summary>A journal that is cut at every byte of its last records, or has bits flipped anywhere: what is there is recovered, what is not is
/// said, and nothing that was never received is shown.</summary>
internal static class JournalSuite
{
    private const int LastRecords = 16;
    private const int Flips = 10_000;
    private const int SampleCases = 250;

    public static void Break(Extent extent, Tally tally)
    {
        byte[] whole = SampleJournal.Make();
        JournalTruth truth = JournalTruth.Read(whole);
        int from = (int)truth.Begins[^(LastRecords + 1)];
        int[] cuts = [.. Enumerable.Range(from, whole.Length - from)];
        if (extent.IsSample)
            cuts = [.. cuts.Where((_, i) => i % ((cuts.Length / SampleCases) + 1) == 0)];
        Parallel.ForEach(cuts, length => tally.Count($"cut at byte {length}", Cut(whole, truth, length)));
        tally.Note("cuts", cuts.Length);
        int[] seeds = [.. extent.Seeds(Flips, SampleCases)];
        Parallel.ForEach(seeds, seed => tally.Count($"flip {seed}", Flip(whole, truth, seed, tally)));
        tally.Note("flips", seeds.Length);
    }

    private static List<string> Cut(byte[] whole, JournalTruth truth, int length)
    {
        var wrong = new List<string>();
        using var scratch = new Scratch();
        JournalTruth left = JournalTruth.Read(whole.AsSpan(0, length));
        Called recover = Recover(scratch.Folder, whole[..length], wrong);
        if (recover.Code != 0)
            wrong.Add($"recover said {recover.Error}");
        LibraryCheck.Holds(scratch.Folder, left.Runs, wrong);
        NothingInvented(scratch.Folder, truth, wrong);
        return wrong;
    }

    private static List<string> Flip(byte[] whole, JournalTruth truth, int seed, Tally tally)
    {
        var wrong = new List<string>();
        using var scratch = new Scratch();
        var random = new Random(seed);
        byte[] damaged = [.. whole];
        int bit = random.Next(whole.Length * 8);
        damaged[bit / 8] ^= (byte)(1 << (bit % 8));
        int record = truth.Begins.FindLastIndex(begin => begin <= bit / 8);
        bool isLast = record == truth.Begins.Count - 2;
        Called recover = Recover(scratch.Folder, damaged, wrong);
        List<HashSet<uint>> runs = LibraryCheck.Runs(scratch.Folder);
        tally.Note(runs.Count > 0 ? "flips recovered" : "flips reported only", 1);
        if (!isLast && (recover.Code != 1 || !recover.Error.Contains(".journal", StringComparison.Ordinal)))
            wrong.Add($"bit {bit}: the damage was not said, exit {recover.Code}: {recover.Error}");

        // One record at most is lost, of five pulses; only without its start or its run's beginning is there no run.
        int wanted = truth.Runs[0].Counters.Count;
        bool mayHaveNone = record == 0 || IsBegan(whole, truth, record);
        if (runs.Count == 0 ? !mayHaveNone : runs[0].Count < wanted - 5)
            wrong.Add($"bit {bit}: of {wanted} pulses {(runs.Count == 0 ? 0 : runs[0].Count)} were recovered");
        NothingInvented(scratch.Folder, truth, wrong);
        return wrong;
    }

    private static bool IsBegan(byte[] whole, JournalTruth truth, int record) => record >= 0 && whole[truth.Begins[record] + 4] == 17;

    private static Called Recover(string library, byte[] journal, List<string> wrong)
    {
        string open = Directory.CreateDirectory(Path.Combine(library, RunLibrary.OpenFolder)).FullName;
        File.WriteAllBytes(Path.Combine(open, "20270314T092653Z-1-1.journal"), journal);
        Called recover = Called.Acquire(library, "recover", "--library", library).Expect(wrong, "recover", 0, 1);
        LibraryCheck.Verify(library, wrong);
        return recover;
    }

    private static void NothingInvented(string library, JournalTruth truth, List<string> wrong)
    {
        var received = truth.Counters.ToHashSet();
        foreach (LibraryRun run in RunLibrary.List(library).Where(r => r.Descriptor is not null))
        {
            int never = LibraryCheck.Counters(run.Folder).Count(c => !received.Contains(c));
            if (never > 0)
                wrong.Add($"{never} pulses that were never received");
            if (run.Descriptor!.Setup.Top != SampleJournal.Top)
                wrong.Add($"a top that was never named: {run.Descriptor.Setup.Top}");
        }
    }
}
