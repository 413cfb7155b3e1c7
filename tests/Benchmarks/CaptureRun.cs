using Acquire.Acquisition;
using Acquire.Acquisition.Serial;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Terminals;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Benchmarks;

/// <summary>The whole way as the program goes it, from a source to journal, live speed and package, measured once.</summary>
internal static class CaptureRun
{
    private const int LookEveryMs = 2;
    private const int LooksToGiveUp = 500;
    private const double LongestS = 120;
    private const int RingBytes = 8 << 20; // as the program has it

    /// <summary>From a pseudo-terminal, as fast as it goes without a loss: the board waits while the ring is more than a quarter full,
    /// for nothing else would hold it back.</summary>
    internal static Measured FromTerminal(SpinBytes spin, MeasureOptions options) =>
        FromTerminal(spin, options, source => _ => source.Blocks.HasRoom(RingBytes * 3 / 4));

    /// <summary>From a pseudo-terminal, at an even rate that nothing holds back.</summary>
    internal static Measured AtRate(SpinBytes spin, MeasureOptions options, double pulsesPerS)
    {
        double bytesPerS = pulsesPerS * spin.Bytes.Length / spin.Pulses;
        long began = 0;
        bool IsDue(long end)
        {
            began = began == 0 ? TimeProvider.System.GetTimestamp() : began;
            return TimeProvider.System.GetElapsedTime(began).TotalSeconds * bytesPerS >= end;
        }

        return FromTerminal(spin, options, _ => IsDue);
    }

    private static Measured FromTerminal(SpinBytes spin, MeasureOptions options, Func<IPulseSource, Func<long, bool>> mayGoOn)
    {
        using var folder = new ScratchFolder(options.Folder);
        using var terminal = new PseudoTerminal();
        var clock = new PlayedClock();
        var settings = new SerialSettings { Port = terminal.PortPath, Baud = 4_000_000, Dtr = false, Rts = false, LockFolder = folder.Path };
        using var source = new SerialPulseSource(settings, waitForPort: false, clock, new BlockRing(RingBytes));
        var board = new BoardThread(terminal, spin, clock, options.BoardCore, mayGoOn(source));
        return Measure(spin, source, clock.Read, folder.Path, board.Start, board.Join);
    }

    internal static Measured FromMemory(SpinBytes spin, MeasureOptions options)
    {
        using var folder = new ScratchFolder(options.Folder);
        var clock = new PlayedClock();
        using var source = new MemorySource(spin, clock);
        return Measure(spin, source, clock.Read, folder.Path, source.Play, source.Join);
    }

    private static Measured Measure(SpinBytes spin, IPulseSource source, TimeProvider clock, string folder, Action play, Func<double> join)
    {
        var capture = new CaptureOptions { Library = folder, Marks = SpinBytes.Marks, TickHz = SpinBytes.TickHz };
        CaptureSession session = CapturePipeline.Compose(capture, source, clock, NullLogger.Instance);
        using var stop = new CancellationTokenSource();
        CaptureOutcome? outcome = null;
        var thread = new Thread(() => outcome = session.Run(stop.Token)) { Name = "capture" };
        using var tick = new ManualResetEvent(false);
        thread.Start();
        while (!session.Live.LinkUp)
            tick.WaitOne(LookEveryMs);

        ThreadTimes before = ThreadTimes.Now();
        long began = TimeProvider.System.GetTimestamp();
        play();
        LiveState live = WaitUntilJudged(session, spin, began, tick);
        double elapsedS = TimeProvider.System.GetElapsedTime(began).TotalSeconds;
        ThreadTimes after = ThreadTimes.Now();
        double boardS = join();
        double lagS = WaitForJournal(folder, live.JournalBytes, tick);
        long kept = BytesKept(folder);

        long stopped = TimeProvider.System.GetTimestamp();
        stop.Cancel();
        thread.Join();
        double packageS = TimeProvider.System.GetElapsedTime(stopped).TotalSeconds;
        Measured times = Times(before, after, new Measured(elapsedS, spin.Pulses, spin.Bytes.Length));
        return times with
        {
            Lost = Lost(spin, live, kept, outcome),
            BoardS = boardS,
            SpeedError = (live.Rpm / spin.LastRpm) - 1,
            JournalLagS = lagS,
            PackageS = packageS,
        };
    }

    private static Measured Times(ThreadTimes before, ThreadTimes after, Measured measured)
    {
        double readerS = after.SecondsSince(before, "serial");
        double captureS = after.SecondsSince(before, "capture");
        double journalS = after.SecondsSince(before, "journal");
        double boardS = after.SecondsSince(before, BoardThread.Name);
        double otherS = after.SecondsSince(before) - readerS - captureS - journalS - boardS;
        return measured with { ReaderS = readerS, CaptureS = captureS, JournalS = journalS, OtherS = otherS };
    }

    /// <summary>Pulses that were sent and not judged. Where there are none, journal and package must hold everything.</summary>
    private static long Lost(SpinBytes spin, LiveState live, long kept, CaptureOutcome? outcome)
    {
        long lost = spin.Pulses - live.Counts.Received;
        if (lost > 0)
            return lost;
        if (kept != spin.Bytes.Length || live.Counts is not { BadLines: 0, LostOnLine: 0, BytesLost: 0 })
            throw new InvalidOperationException($"{live.Counts}; of {spin.Bytes.Length} bytes the journal holds {kept}.");
        if (outcome is not { Failed: false, Runs: [string run] })
            throw new InvalidOperationException($"One run was expected, {outcome?.Runs.Count} were saved.");
        RunCounts counts = RunPackageReader.ReadDescriptor(run).Counts;
        long beforeRun = spin.Pulses - counts.Received; // pulses that came before the lock that became the run
        if (beforeRun is < 0 or > 100 || counts.Marks < 0.99 * counts.Received)
            throw new InvalidOperationException($"Of {spin.Pulses} pulses the package has {counts}.");
        return 0;
    }

    /// <summary>Waits until every pulse has been judged; where bytes found no room, until nothing more comes.</summary>
    private static LiveState WaitUntilJudged(CaptureSession session, SpinBytes spin, long began, ManualResetEvent tick)
    {
        long received = -1;
        for (int looks = 1; ; looks++)
        {
            LiveState live = session.Live;
            if (live.Counts.Received >= spin.Pulses)
                return live;
            if (looks % LooksToGiveUp == 0)
            {
                if (live.Counts.Received == received)
                    return live;
                received = live.Counts.Received;
            }

            if (TimeProvider.System.GetElapsedTime(began).TotalSeconds > LongestS)
                throw new InvalidOperationException($"After {LongestS} s {live.Counts} of {spin.Pulses} pulses.");
            tick.WaitOne(LookEveryMs);
        }
    }

    private static string Journal(string folder) => Directory.GetFiles(Path.Combine(folder, ".open"), "*.journal").Single();

    private static double WaitForJournal(string folder, long bytes, ManualResetEvent tick)
    {
        long began = TimeProvider.System.GetTimestamp();
        while (new FileInfo(Journal(folder)).Length < bytes)
            tick.WaitOne(1);
        return TimeProvider.System.GetElapsedTime(began).TotalSeconds;
    }

    /// <summary>Bytes of the source that the journal holds.</summary>
    private static long BytesKept(string folder)
    {
        using var reader = new JournalReader(Journal(folder));
        long bytes = 0;
        while (reader.TryRead(out JournalRecord record))
            bytes += record.Kind == JournalEntryKind.Bytes ? record.Payload.Length : 0;
        return bytes;
    }
}
