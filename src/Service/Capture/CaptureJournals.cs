using Acquire.Acquisition;
using Acquire.Acquisition.Clock;
using Acquire.Recording;

namespace Acquire.Service.Capture;

/// <summary>The journals of a capture: one is written at a time, a new one begins while nothing spins, and one that is done with is let
/// go.</summary>
internal sealed class CaptureJournals : IDisposable
{
    /// <summary>The folder in the library that holds journals.</summary>
    public const string OpenFolder = ".open";

    /// <summary>The setting in a journal's start that says whether the host's clock was kept right: one of <see cref="HostSynchronisation"/>'s words.</summary>
    public const string HostClockName = "hostClock";

    private static readonly TimeSpan ChangeWait = TimeSpan.FromSeconds(1);
    private readonly CaptureOptions _options;
    private readonly IPulseSource _source;
    private readonly TimeProvider _time;
    private readonly ISourceDecoder _decoder;
    private readonly string _folder;
    private string? _kept;
    private int _number;
    private long _lostBefore;

    public CaptureJournals(CaptureOptions options, IPulseSource source, TimeProvider time, ISourceDecoder decoder, ResumedCapture? resumed = null)
    {
        _options = options;
        _source = source;
        _time = time;
        _decoder = decoder;
        _folder = Path.Combine(options.Library, OpenFolder);
        DurableFolder.Make(_folder);
        Current = resumed is null ? Begin(0, "") : GoOn(resumed);
    }

    /// <summary>The journal that is written now.</summary>
    public OpenJournal Current { get; private set; }

    /// <summary>Payload bytes that no journal of this capture could take.</summary>
    public long BytesLost => _lostBefore + Current.Writer.BytesLost;

    /// <summary>Begins a new journal. The one before is let go at once where all its runs are in the library and it holds one, else it is
    /// kept until the next change, so that the last minutes of waiting are always there.</summary>
    /// <exception cref="IOException">The disk does not take the present one, or no new one; the present one goes on.</exception>
    public void Change(long pulses)
    {
        OpenJournal before = Current;
        if (!before.Writer.Flush(ChangeWait))
            throw new IOException(before.Writer.Trouble ?? "The disk has not taken what waits for it.");
        Current = Begin(pulses, _decoder.SaveState());
        before.Writer.TryAppend(_time.MonotonicNs(), new CaptureEnded("goes on in " + Path.GetFileName(Current.Writer.Path)));
        before.Writer.Dispose();
        _lostBefore += before.Writer.BytesLost;
        if (before.Runs > 0)
        {
            LetGoWhenSafe(before);
            return;
        }

        LetGo(_kept);
        _kept = before.Writer.Path;
    }

    /// <summary>Ends the capture in order. A journal with a run that could not be packaged stays for a recovery.</summary>
    public void End()
    {
        Current.Writer.TryAppend(_time.MonotonicNs(), new CaptureEnded("ended"));
        Current.Writer.Dispose();
        if (Current.AllPackaged)
            LetGo(Current.Writer.Path);
        LetGo(_kept);
        _kept = null;
    }

    /// <summary>Lets a journal go once every run in it is in the library.</summary>
    public void LetGoWhenSafe(OpenJournal journal)
    {
        if (journal != Current && journal.AllPackaged)
            LetGo(journal.Writer.Path);
    }

    // A journal that cannot be deleted is in nobody's way: its runs are in the library.
    private static void LetGo(string? path)
    {
        try
        {
            if (path is not null)
                File.Delete(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
        }
    }

    public void Dispose() => Current.Writer.Dispose();

    private OpenJournal GoOn(ResumedCapture resumed)
    {
        JournalWriter writer = JournalWriter.Reopen(resumed.Journal, (long)_options.JournalMemoryMb << 20, resumed.WholeBytes);
        long now = _time.MonotonicNs();
        writer.TryAppend(now, new CaptureResumed(resumed.LastHostNs, resumed.TornBytes));
        var journal = new OpenJournal(writer, 0, resumed.Start.UtcAnchor.HostNs) { Runs = resumed.Runs };
        for (int i = 0; i < resumed.Packaged; i++)
            journal.CountPackaged();
        if (resumed.LacksBeginning)
            writer.TryAppend(now, new RunBegan(++journal.Runs, resumed.Chain.FirstPulse));
        return journal;
    }

    private OpenJournal Begin(long pulses, string decoderState)
    {
        DateTimeOffset utc = _time.GetUtcNow();
        long hostNs = _time.MonotonicNs();
        string path;
        do
        {
            path = Path.Combine(_folder, FormattableString.Invariant($"{utc:yyyyMMdd'T'HHmmss'Z'}-{Environment.ProcessId}-{++_number}.journal"));
        }
        while (File.Exists(path));
        SortedDictionary<string, string> settings = RunSettings.From(_options).ToJournal();
        settings[HostClockName] = HostSynchronisation.Read();
        settings[ResumedCapture.BootName] = ResumedCapture.Boot();
        var start = new JournalStart(
            ProgramVersion.Software,
            new UtcAnchor(utc, hostNs),
            new JournalSource(_source.Kind, _source.Detail, _options.Format, _decoder.TickHz, _options.Marks),
            _options.Setup(),
            settings,
            decoderState);
        return new OpenJournal(JournalWriter.Create(path, start, _time, (long)_options.JournalMemoryMb << 20), pulses, hostNs);
    }
}

/// <summary>A journal that is or was written by this capture.</summary>
/// <param name="Writer">Its writer.</param>
/// <param name="PulsesBefore">Pulses of the capture that came before it: what its ordinals count from.</param>
/// <param name="BegunNs">When it was begun.</param>
internal sealed record OpenJournal(JournalWriter Writer, long PulsesBefore, long BegunNs)
{
    private int _packaged;

    /// <summary>Runs that began in it.</summary>
    public int Runs { get; set; }

    /// <summary>True when every run in it is in the library or was dismissed.</summary>
    public bool AllPackaged => Volatile.Read(ref _packaged) >= Runs;

    /// <summary>Counts a run of it that is in the library for good, or was dismissed.</summary>
    public void CountPackaged() => Interlocked.Increment(ref _packaged);
}
