using System.Collections.Concurrent;
using System.Globalization;
using Acquire.Acquisition;
using Acquire.Acquisition.Clock;
using Acquire.Recording;
using Acquire.Service.Plans;

namespace Acquire.Service.Capture;

/// <summary>The journals of a capture: one is written at a time, a new one begins while nothing spins, and one that is done with is let
/// go. Between start and end nothing here waits for the disk: files are made by their writers' threads, closed and deleted by one of this class's.</summary>
internal sealed class CaptureJournals : IDisposable
{
    /// <summary>The folder in the library that holds journals.</summary>
    public const string OpenFolder = ".open";

    /// <summary>The setting in a journal's start that says whether the host's clock was kept right: one of <see cref="HostSynchronisation"/>'s words.</summary>
    public const string HostClockName = "hostClock";

    private static readonly TimeSpan StartWait = TimeSpan.FromSeconds(2); // the port is opened once the journal is there, or the disk has had its time
    private readonly CaptureOptions _options;
    private readonly IPulseSource _source;
    private readonly TimeProvider _time;
    private readonly ISourceDecoder _decoder;
    private readonly PlanFollower? _plan;
    private readonly string _folder;
    private readonly BlockingCollection<Action> _chores = [];
    private readonly Thread _keeper;
    private JournalWriter? _next;
    private long? _owed;
    private string? _kept; // the keeper's
    private int _number;
    private long _lostBefore;

    public CaptureJournals(CaptureOptions options, IPulseSource source, TimeProvider time, ISourceDecoder decoder, ResumedCapture? resumed = null, PlanFollower? plan = null)
    {
        _options = options;
        _source = source;
        _time = time;
        _decoder = decoder;
        _plan = plan;
        _folder = Path.Combine(options.Library, OpenFolder);
        string path = NewPath();
        while (File.Exists(path))
            path = NewPath();
        Current = resumed is null ? Begin(Prepare(path), 0, "") : GoOn(resumed);
        Current.Writer.Flush(StartWait);
        _keeper = new Thread(Keep) { IsBackground = true, Name = "journal keeper" };
        _keeper.Start();
    }

    /// <summary>Set-up of runs that begin from now on, where a plan does not say otherwise; null for that of the settings.</summary>
    public RunSetup? NextSetup { get; set; }

    /// <summary>The journal that is written now.</summary>
    public OpenJournal Current { get; private set; }

    /// <summary>Payload bytes that no journal of this capture could take.</summary>
    public long BytesLost => Interlocked.Read(ref _lostBefore) + Current.Writer.BytesLost;

    /// <summary>Why the next journal cannot be begun; null where it can, or is not wanted.</summary>
    public string? NextTrouble => _next?.Trouble;

    /// <summary>Begins a new journal once its file is made and the present one is on the disk; to be called again until then, the present one goes on.
    /// The one before is let go at once where all its runs are in the library and it holds one, else it is kept until the next change, so that the
    /// last minutes of waiting are always there.</summary>
    /// <returns>True where it has begun.</returns>
    public bool TryChange(long pulses)
    {
        OpenJournal before = Current;
        _next ??= Prepare(NewPath());

        // What was there when it was first asked for: more may come at every moment, and there would never be one in which nothing is owed.
        _owed ??= before.Writer.AppendedBytes;
        if (!_next.IsDurable() || !before.Writer.IsDurable(_owed.Value))
            return false;
        _owed = null;
        Current = Begin(_next, pulses, _decoder.SaveState());
        _next = null;
        before.Writer.TryAppend(_time.MonotonicNs(), new CaptureEnded("goes on in " + Path.GetFileName(Current.Writer.Path)));
        long lost = before.Writer.BytesLost;
        Interlocked.Add(ref _lostBefore, lost);
        _chores.Add(() => Close(before, lost));
        return true;
    }

    /// <summary>Ends the capture in order. A journal with a run that could not be packaged stays for a recovery.</summary>
    public void End()
    {
        Current.Writer.TryAppend(_time.MonotonicNs(), new CaptureEnded("ended"));
        StopKeeping();
        Current.Writer.Dispose();
        if (Current.AllPackaged)
            LetGo(Current.Writer.Path);
        LetGo(_kept);
        _kept = null;
        if (_next is null)
            return;
        _next.Dispose();
        LetGo(_next.Path);
        _next = null;
    }

    /// <summary>Lets a journal go once every run in it is in the library.</summary>
    public void LetGoWhenSafe(OpenJournal journal)
    {
        if (journal != Current && journal.AllPackaged)
            _chores.Add(() => LetGo(journal.Writer.Path));
    }

    private void Keep()
    {
        foreach (Action chore in _chores.GetConsumingEnumerable())
            chore();
    }

    private void StopKeeping()
    {
        _chores.CompleteAdding();
        _keeper.Join();
    }

    private void Close(OpenJournal journal, long lostSoFar)
    {
        journal.Writer.Dispose();
        Interlocked.Add(ref _lostBefore, journal.Writer.BytesLost - lostSoFar);
        if (journal.Runs > 0)
        {
            if (journal.AllPackaged)
                LetGo(journal.Writer.Path);
            return;
        }

        LetGo(_kept);
        _kept = journal.Writer.Path;
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

    public void Dispose()
    {
        StopKeeping();
        Current.Writer.Dispose();
        _next?.Dispose();
        _chores.Dispose();
    }

    private OpenJournal GoOn(ResumedCapture resumed)
    {
        JournalWriter writer = JournalWriter.ReopenWhenPossible(resumed.Journal, LimitBytes, resumed.WholeBytes);
        long now = _time.MonotonicNs();
        writer.TryAppend(now, new CaptureResumed(resumed.LastHostNs, resumed.TornBytes));
        var journal = new OpenJournal(writer, 0, resumed.Start.UtcAnchor.HostNs) { Runs = resumed.Runs };
        for (int i = 0; i < resumed.Packaged; i++)
            journal.CountPackaged();
        if (resumed.LacksBeginning)
            writer.TryAppend(now, Began(journal, ++journal.Runs, resumed.Chain.FirstPulse));
        return journal;
    }

    /// <summary>The entry of a run that begins, with the set-up and the row that a plan gives it.</summary>
    public RunBegan Began(OpenJournal journal, int number, long firstPulse) =>
        _plan?.Begin(journal.Key, number, firstPulse, NextSetup) ?? new RunBegan(number, firstPulse, NextSetup);

    private long LimitBytes => (long)_options.JournalMemoryMb << 20;

    private JournalWriter Prepare(string path) => JournalWriter.CreateWhenPossible(path, NewPath, LimitBytes);

    // Also called by a writer's thread.
    private string NewPath() => Path.Combine(_folder, string.Create(
        CultureInfo.InvariantCulture, $"{_time.GetUtcNow():yyyyMMdd'T'HHmmss'Z'}-{Environment.ProcessId}-{Interlocked.Increment(ref _number)}.journal"));

    private OpenJournal Begin(JournalWriter writer, long pulses, string decoderState)
    {
        DateTimeOffset utc = _time.GetUtcNow();
        long hostNs = _time.MonotonicNs();
        SortedDictionary<string, string> settings = RunSettings.From(_options).ToJournal();
        settings[HostClockName] = HostSynchronisation.Read();
        settings[ResumedCapture.BootName] = ResumedCapture.Boot();
        if (_plan is not null)
            settings[ResumedCapture.PlanName] = _plan.Live.Progress.Sheet.Id;
        var start = new JournalStart(
            ProgramVersion.Software,
            new UtcAnchor(utc, hostNs),
            new JournalSource(_source.Kind, _source.Detail, _options.SourceFormat(), _decoder.TickHz, _options.Marks),
            _options.Setup(),
            settings,
            decoderState,
            _options.AirByHand());
        writer.TryAppend(hostNs, start);
        return new OpenJournal(writer, pulses, hostNs);
    }
}

/// <summary>A journal that is or was written by this capture.</summary>
/// <param name="Writer">Its writer.</param>
/// <param name="PulsesBefore">Pulses of the capture that came before it: what its ordinals count from.</param>
/// <param name="BegunNs">When it was begun.</param>
internal sealed record OpenJournal(JournalWriter Writer, long PulsesBefore, long BegunNs)
{
    private int _packaged;

    /// <summary>What names it for as long as it is written; its file's name may change until the disk takes it.</summary>
    public string Key { get; } = Writer.Path;

    /// <summary>Runs that began in it.</summary>
    public int Runs { get; set; }

    /// <summary>True when every run in it is in the library or was dismissed.</summary>
    public bool AllPackaged => Volatile.Read(ref _packaged) >= Runs;

    /// <summary>Counts a run of it that is in the library for good, or was dismissed.</summary>
    public void CountPackaged() => Interlocked.Increment(ref _packaged);
}
