using Acquire.Recording;

namespace Acquire.Faults;

/// <summary>One capture of a spin, by the real program, whose port goes away and comes back again and again: the link is removed and the terminal
/// closed, and a new terminal takes the name, sometimes another device behind it, sometimes with the board started anew.</summary>
internal static class PortSuite
{
    private const int Pulls = 200;
    private const int SamplePulls = 10;
    private const int ElsewhereEvery = 3;
    private const int RestartEvery = 2;     // every two seconds or so: a counter that begins again so soon does not stand out by its value
    private const double OpensWithinS = 15; // it is looked for every 5 s at the latest; the machine may be busy
    private const double NameWithinS = 5;
    private const double InHandS = 0.3;     // what the kernel still held when the plug was pulled, or throws away when a port is opened
    private const double MostProcessorShare = 0.25;
    private const int EndsWithinS = 30;
    private const int EndedByUser = 130;
    private const int Marks = 2;

    // Within ten minutes it comes to no rate at which a lamp flashes on the mains, nor to half of one: marks that keep to such a beat are taken for light.
    private const double PulsesPerS = 58;
    private const double DecayS = 4000;
    private const double BusyS = 0.15; // so late a busy machine may be with what the host's clock tells
    private const int LongEvery = 4;

    // The turns over more than a second are told by half a minute on both sides of it; where the launch is in that they may be off by a mark.
    private const double LongAfterS = 32;

    // As the document of the run's folder has them; a gap is more than a second and four turns without a mark.
    private const string PortLost = "port lost";
    private const string PortBack = "port back";
    private const string BoardRestarted = "board restarted";
    private const double GapS = 1;
    private const double GapUnsureS = 0.1;

    public static void Break(Extent extent, Tally tally)
    {
        using var scratch = new Scratch();
        string library = scratch.At("runs");
        using var board = new PortBoard(scratch.At("board"), new SpinText(Marks, PulsesPerS, DecayS));
        board.Plug(elsewhere: false);
        using var capture = new CaptureProcess([], "capture", "--port", scratch.At("board"), "--library", library, "--marks", $"{Marks}");
        var wrong = new List<string>();
        if (!board.PlayUntil(() => board.IsOpen || capture.HasEnded, OpensWithinS) || capture.HasEnded)
        {
            tally.Fail($"the capture did not open the port: {capture.Error}");
            return;
        }

        board.Launch();
        board.PlayUntil(() => false, 2);
        var done = new Done();
        var watch = new FlatWatch();
        foreach (int seed in extent.Seeds(Pulls, SamplePulls))
        {
            List<string> cycle = Cycle(board, capture, new Random(seed), seed, done);
            if (capture.HasEnded)
                cycle.Add($"the capture ended by itself: {capture.Error}");
            tally.Count($"pull {seed}", cycle);
            if (capture.HasEnded)
                return;
            watch.Add(ProcessFigures.Read(capture.Id, board.NowS));
        }

        board.PlayUntil(() => false, 0.5);
        board.Hide();
        board.PlayUntil(() => false, 1);
        string[] journals = Directory.GetFiles(Path.Combine(library, RunLibrary.OpenFolder), "*.journal");
        if (journals.Length != 1)
            wrong.Add($"{journals.Length} journals");
        JournalTruth truth = JournalTruth.Read(File.ReadAllBytes(journals[0]));
        SentPulse[] found = Find(board, truth, wrong, tally);
        End(capture, watch, extent.IsSample, wrong);
        LibraryCheck.Verify(library, wrong);
        Check(library, done, truth, found, wrong, tally);
        tally.Note("other devices behind the name", done.Elsewhere);
        tally.Note("restarts", done.Restarts);
        tally.Remark(FormattableString.Invariant(
            $"opened again after at most {done.SlowestS:F1} s, {watch.ProcessorShare * 100:F1} % of a processor, {watch.MostMb:F1} MB at most, {watch.Tenth(0).Handles:F0} then {watch.Tenth(9).Handles:F0} handles"));
        tally.Count("the whole capture", wrong);
    }

    private static List<string> Cycle(PortBoard board, CaptureProcess capture, Random random, int number, Done done)
    {
        board.PlayUntil(() => board.HasSaidItsName, NameWithinS); // unless the program knows which boot it hears, it cannot tell what is lost
        board.PlayUntil(() => false, 0.3 + (0.4 * random.NextDouble()));
        string device = board.Device;
        board.Pull();
        done.Pulls++;
        bool isLong = number % LongEvery == LongEvery - 1 && board.SpinsForS > LongAfterS;
        board.PlayUntil(() => false, (isLong ? 1.2 : 0) + (0.4 * random.NextDouble()));
        if (number % RestartEvery == RestartEvery - 1)
        {
            board.Restart();
            done.Restarts++;
        }

        board.Plug(number % ElsewhereEvery == ElsewhereEvery - 1);
        done.Elsewhere += board.Device == device ? 0 : 1;
        double plugged = board.NowS;
        bool opened = board.PlayUntil(() => board.IsOpen || capture.HasEnded, OpensWithinS);
        done.SlowestS = Math.Max(done.SlowestS, board.NowS - plugged);
        return opened ? [] : [$"the port was not opened again within {OpensWithinS} s"];
    }

    /// <summary>The body's pulses that are in the journal. Of those sent none may be missing but what the kernel held at a pull or an opening.</summary>
    private static SentPulse[] Find(PortBoard board, JournalTruth truth, List<string> wrong, Tally tally)
    {
        var found = new List<SentPulse>();
        int inHand = 0;
        var lost = new List<SentPulse>();
        int next = 0;
        foreach (SentPulse pulse in board.Sent)
        {
            if (next < truth.Counters.Count && truth.Counters[next] == pulse.Counter)
            {
                found.Add(pulse);
                next++;
            }
            else if (board.Open.Any(o => pulse.SentS >= o.OpenedS - InHandS && pulse.SentS <= o.PulledS + InHandS
                && (pulse.SentS < o.OpenedS + InHandS || pulse.SentS > o.PulledS - InHandS)))
            {
                inHand++;
            }
            else
            {
                lost.Add(pulse);
            }
        }

        tally.Note("pulses sent", board.Sent.Count);
        tally.Note("pulses in the kernel's hands at a pull or an opening", inHand);
        if (lost.Count > 0)
        {
            (double openedS, double pulledS) = board.Open.Last(o => o.OpenedS <= lost[0].SentS);
            wrong.Add(FormattableString.Invariant(
                $"{lost.Count} of {board.Sent.Count} pulses that were sent while the port was open are not in the journal, the first {lost[0].SentS - openedS:F3} s after it was opened and {pulledS - lost[0].SentS:F3} s before it was pulled"));
        }

        if (next != truth.Counters.Count)
            wrong.Add($"{truth.Counters.Count - next} pulses of the journal were not sent, or are out of order");
        return [.. found];
    }

    private static void End(CaptureProcess capture, FlatWatch watch, bool isSample, List<string> wrong)
    {
        if (watch.ProcessorShare > MostProcessorShare)
            wrong.Add(FormattableString.Invariant($"{watch.ProcessorShare * 100:F1} % of a processor"));
        // A sample sees the program load its last parts, each a handle or two; a handle lost a pull would be twice as many.
        double handlesBefore = isSample ? watch.Tenth(0).Handles + (SamplePulls / 2) : watch.Tenth(1).Handles;
        if (watch.Tenth(9).Handles > handlesBefore)
            wrong.Add($"{watch.Tenth(9).Handles} handles, more than {handlesBefore}");
        if (!capture.Signal("TERM", EndsWithinS))
            wrong.Add($"it did not end within {EndsWithinS} s of SIGTERM");
        else if (capture.ExitCode != EndedByUser)
            wrong.Add($"it ended with {capture.ExitCode} on SIGTERM: {capture.Error}");
    }

    private static void Check(string library, Done done, JournalTruth truth, SentPulse[] found, List<string> wrong, Tally tally)
    {
        IReadOnlyList<LibraryRun> runs = RunLibrary.List(library);
        if (runs.Count != 1 || runs[0].Descriptor is not { } descriptor || truth.Runs.Count != 1)
        {
            wrong.Add($"{runs.Count} runs in the library, {truth.Runs.Count} in the journal, instead of one");
            return;
        }

        ILookup<string, string> events = RunPackageReader.ReadEvents(runs[0].Folder).ToLookup(e => e.Event, e => e.Detail);
        int wentAway = events[PortLost].Count();
        int cameBack = events[PortBack].Count();
        int restarted = events[BoardRestarted].Count();
        if (wentAway != done.Pulls || cameBack != done.Pulls || restarted != done.Restarts)
            wrong.Add($"{wentAway} times lost, {cameBack} times back and {restarted} times restarted are recorded of {done.Pulls}, {done.Pulls} and {done.Restarts}");
        RunCounts counts = descriptor.Counts;
        if (descriptor.EndReason != EndReasons.Operator || counts.Received != truth.Runs[0].Counters.Count)
            wrong.Add($"the run ended by {descriptor.EndReason} and has of {truth.Runs[0].Counters.Count} pulses: {counts}");

        SentPulse[] seen = found[(int)truth.Runs[0].FirstPulse..];
        int surely = Gaps(seen, GapS + GapUnsureS);
        int atMost = Gaps(seen, GapS - GapUnsureS);
        if (counts.Gaps < surely || counts.Gaps > atMost)
            wrong.Add($"{counts.Gaps} gaps of {surely} to {atMost}");

        // Every mark that passed is received or counted as missed; the board sends nothing else.
        long passed = seen[^1].Body - seen[0].Body + 1;
        tally.Note("marks passed in the run", passed);
        tally.Note("of them received", counts.Received);
        tally.Note("of them counted as missed", counts.Missed);
        tally.Note("gaps", counts.Gaps);
        long unread = seen.Zip(seen.Skip(1)).Where(p => p.First.Boot == p.Second.Boot).Sum(p => p.Second.Body - p.First.Body - 1);
        tally.Note("of them counted as lost on the line", counts.LostOnLine);
        if (counts.LostOnLine != unread)
            wrong.Add($"{counts.LostOnLine} pulses are counted as lost on the line, the board went on and sent {unread} that did not arrive");
        long off = Turns(runs[0].Folder, seen, wrong, tally);
        if (counts.Received + counts.Missed != passed + off)
            wrong.Add($"{passed} marks passed, {counts.Received} were received and {counts.Missed} are counted as missed, with {off} told to have been miscounted");
    }

    /// <summary>Turns from pulse to pulse are as the body made them, however often the port was away in between. A board that started anew counts from
    /// 0 again, so that only the host's clock tells how long it was away: there the count may be off by a mark, or some on a busy machine.</summary>
    /// <returns>Marks by which the whole count is off.</returns>
    private static long Turns(string run, SentPulse[] seen, List<string> wrong, Tally tally)
    {
        string[][] rows = [.. File.ReadLines(Path.Combine(run, "pulses.csv")).Skip(1).Select(r => r.Split(','))];
        int[] marks = [.. Enumerable.Range(0, rows.Length).Where(i => rows[i][2] == "mark")];
        double At(int row) => double.Parse(rows[row][4], System.Globalization.CultureInfo.InvariantCulture);
        long sum = 0;
        foreach ((int from, int to) in marks.Zip(marks.Skip(1)))
        {
            long off = (long)Math.Round((At(to) - At(from)) * Marks) - (seen[to].Body - seen[from].Body);
            sum += off;
            if (off != 0 && seen[from].Boot != seen[to].Boot && Math.Abs(off) <= 1 + (BusyS * PulsesPerS))
                tally.Note("restarts over which the count is off by some marks");
            else if (off != 0)
                wrong.Add(FormattableString.Invariant($"the count is off by {off} marks of {seen[to].Body - seen[from].Body} over {seen[to].SentS - seen[from].SentS:F2} s at row {to}, starts {seen[from].Boot} and {seen[to].Boot}"));
        }

        return sum;
    }

    private static int Gaps(SentPulse[] pulses, double leastS) => pulses.Zip(pulses.Skip(1)).Count(p => p.Second.SentS - p.First.SentS > leastS);

    private sealed class Done
    {
        public int Pulls { get; set; }

        public int Restarts { get; set; }

        public int Elsewhere { get; set; }

        public double SlowestS { get; set; }
    }
}
