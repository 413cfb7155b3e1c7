using Acquire.Acquisition;
using Acquire.Acquisition.Lines;
using Acquire.Motion;
using Acquire.Recording;

namespace Acquire.Service.Capture;

/// <summary>A capture that was cut short in mid-spin and can go on in the same run: its journal's blocks have been shown to a fresh live chain, which now
/// knows what the one that died knew.</summary>
/// <remarks>Only where nothing has to be guessed: the computer has not been off (its monotonic clock goes on), source, set-up and settings are the same,
/// the journal has no damage but a torn tail, and the last block is no older than marks are waited for.</remarks>
internal sealed class ResumedCapture
{
    /// <summary>The setting in a journal's start that names the time for which the computer has been on.</summary>
    public const string BootName = "boot";

    /// <summary>The setting in a journal's start that names the plan which the capture follows; not there where it follows none.</summary>
    public const string PlanName = "plan";

    private const long LeastBytes = 33; // a shorter one was prepared and never begun
    private const string BootFile = "/proc/sys/kernel/random/boot_id";
    private readonly Dictionary<int, BoundRun> _runs = [];
    private readonly List<RunTransition> _found = [];
    private int _done;

    private ResumedCapture(string journal, JournalStart start, LiveChain chain)
    {
        Journal = journal;
        Start = start;
        Chain = chain;
    }

    /// <summary>Path of the journal.</summary>
    public string Journal { get; }

    /// <summary>Its start entry.</summary>
    public JournalStart Start { get; }

    /// <summary>The live chain as it was when the capture was cut short.</summary>
    public LiveChain Chain { get; }

    /// <summary>Host time of the last block, ns.</summary>
    public long LastHostNs { get; private set; }

    /// <summary>Bytes of whole records.</summary>
    public long WholeBytes { get; private set; }

    /// <summary>Bytes of a record that was cut short.</summary>
    public long TornBytes { get; private set; }

    /// <summary>Runs that began in the journal, whatever became of them.</summary>
    public int Runs { get; private set; }

    /// <summary>Runs that are in the library, or came to nothing.</summary>
    public int Packaged => _done;

    /// <summary>Runs that ended and are not in the library.</summary>
    public IEnumerable<BoundRun> Ended => _runs.Values.Where(r => r.LastPulse != long.MaxValue);

    /// <summary>Runs that are not in the library, the one under way among them.</summary>
    public IEnumerable<BoundRun> All => _runs.Values;

    /// <summary>True where the chain sees a run under way whose beginning the journal does not hold.</summary>
    public bool LacksBeginning => Chain.FirstPulse >= 0 && !HasOpen;

    private bool HasOpen => _runs.Values.Any(r => r.LastPulse == long.MaxValue);

    /// <summary>A name for the time for which this computer has been on; empty where the system does not tell.</summary>
    public static string Boot()
    {
        try
        {
            return File.Exists(BootFile) ? File.ReadAllText(BootFile).Trim() : "";
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return "";
        }
    }

    /// <summary>The capture that may go on; null where there is none.</summary>
    public static ResumedCapture? Find(CaptureOptions options, IPulseSource source, TimeProvider time, string plan = "")
    {
        string open = Path.Combine(options.Library, CaptureJournals.OpenFolder);
        try
        {
            string? journal = Directory.Exists(open)
                ? new DirectoryInfo(open).GetFiles("*.journal").Where(f => f.Length >= LeastBytes).Select(f => f.FullName).Max(StringComparer.Ordinal)
                : null;
            return journal is null ? null : Read(journal, options, source, time.MonotonicNs(), plan);
        }
        catch (Exception e) when (e is RunFormatException or IOException or InvalidDataException or UnauthorizedAccessException)
        {
            return null; // the recovery says what is wrong with it
        }
    }

    private static ResumedCapture? Read(string journal, CaptureOptions options, IPulseSource source, long now, string plan)
    {
        using var reader = new JournalReader(journal);
        if (!reader.TryRead(out JournalRecord first) || first.Kind != JournalEntryKind.Start)
            return null;
        JournalStart start = first.Entry<JournalStart>();
        if (!IsSame(start, options, source) || start.Settings.GetValueOrDefault(PlanName, "") != plan)
            return null;
        ISourceDecoder decoder = start.DecoderState.Length > 0
            ? SourceFormats.RestoreDecoder(start.DecoderState)
            : SourceFormats.CreateDecoder(start.Source.Format, start.Source.TickHz);
        var resumed = new ResumedCapture(journal, start, new LiveChain(decoder, RunSettings.From(options)));
        return resumed.Replay(reader) && resumed.IsUnderWay(now, options) ? resumed : null;
    }

    private static bool IsSame(JournalStart start, CaptureOptions options, IPulseSource source)
    {
        RunSetup setup = options.Setup();
        string boot = Boot();
        return boot.Length > 0 && start.Settings.GetValueOrDefault(BootName) == boot
            && (start.Source.Kind, start.Source.Detail, start.Source.Format) == (source.Kind, source.Detail, options.SourceFormat())
            && RunSettings.From(start) == RunSettings.From(options)
            && start.AirByHand == options.AirByHand()
            && start.Setup with { Factors = setup.Factors } == setup
            && start.Setup.Factors.OrderBy(f => f.Key, StringComparer.Ordinal).SequenceEqual(setup.Factors.OrderBy(f => f.Key, StringComparer.Ordinal));
    }

    /// <summary>Shows the chain every block. What it finds has been followed already.</summary>
    /// <returns>False where the capture was ended in order or the journal is damaged.</returns>
    private bool Replay(JournalReader reader)
    {
        var found = new List<RunTransition>();
        while (reader.TryRead(out JournalRecord record))
        {
            if (record.IsBlock)
            {
                Chain.Take(record.Block, found);
                Chain.PassTime(record.HostNs, found);
                found.Clear();
                _found.Clear();
                LastHostNs = record.HostNs;
            }
            else if (record.Kind == JournalEntryKind.CaptureEnded)
            {
                return false;
            }
            else
            {
                Note(record);
            }
        }

        (WholeBytes, TornBytes) = (reader.Position, reader.TornTailBytes);
        return reader.BytesSkipped == 0;
    }

    private void Note(in JournalRecord record)
    {
        switch (record.Kind)
        {
            case JournalEntryKind.RunBegan:
                RunBegan began = record.Entry<RunBegan>();
                Runs = began.RunNumber;
                Chain.StartByHand(_found); // nothing where it had begun by itself
                _runs[began.RunNumber] = new BoundRun(began.RunNumber, began.FirstPulse, long.MaxValue, EndReasons.Recovered, began.Plan);
                break;
            case JournalEntryKind.RunEnded when record.Entry<RunEnded>() is var end && _runs.TryGetValue(end.RunNumber, out BoundRun? run):
                if (end.Reason == EndReasons.Operator && Chain.FirstPulse == run.FirstPulse)
                    Chain.EndByHand(_found);
                _runs[end.RunNumber] = run with { LastPulse = end.LastPulse, Reason = end.Reason };
                break;
            case JournalEntryKind.RunDismissed:
                _done += _runs.Remove(record.Entry<RunDismissed>().RunNumber) ? 1 : 0;
                break;
            case JournalEntryKind.RunPackaged:
                _done += _runs.Remove(record.Entry<RunPackaged>().RunNumber) ? 1 : 0;
                break;
        }
    }

    // Where journal and chain do not agree that a run is under way, it is made into a run as it stands.
    private bool IsUnderWay(long now, CaptureOptions options)
    {
        double awayS = (now - LastHostNs) * 1e-9;
        bool agree = HasOpen ? Chain.FirstPulse >= 0 : Chain.IsBusy;
        if (!agree || awayS < 0 || awayS > options.LostWaitS)
            return false;
        Chain.Interrupt();
        return true;
    }
}
