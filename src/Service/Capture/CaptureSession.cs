using Acquire.Acquisition;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Forecasting;
using Acquire.Service.Plans;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Capture;

/// <summary>One capture from start to end: takes blocks, writes them to the journal, judges them, and has finished runs packaged.</summary>
public sealed partial class CaptureSession
{
    private const int WaitMs = 50;
    private const int TakeEveryMs = 25; // while they come: to be woken for each takes more of the processor than to judge it
    private const long JournalSpanNs = 600_000_000_000;
    private const long QuietNs = 10_000_000_000;
    private const long PublishNs = 50_000_000;

    /// <summary>Every so often the live state is renewed, seconds.</summary>
    internal const double PublishS = PublishNs * 1e-9;

    private readonly CaptureOptions _options;
    private readonly IPulseSource _source;
    private readonly TimeProvider _time;
    private readonly LiveChain _chain;
    private readonly CaptureJournals _journals;
    private readonly FinishingThread _finishing;
    private readonly ReportingThread? _reporting;
    private readonly ILogger _logger;
    private readonly PlanFollower? _plan;
    private readonly AirWatch? _air;
    private readonly List<RunTransition> _found = [];
    private readonly List<string> _runs = [];
    private readonly Questions _questions;
    private readonly DiskWatch _disk;
    private readonly ClockWatch _clock;
    private LiveState _live;
    private string? _trouble;
    private bool _failed;
    private bool _isEnding;
    private long _publishedNs;
    private long _changeAtNs;
    private RunSetup _setup;
    private SpinSoFar? _soFar;
    private bool _isSoFarAsked;
    private int _runsBegun;
    private int _runsDismissed;
    private int _runsNotSaved;

    internal CaptureSession(
        CaptureOptions options, IPulseSource source, TimeProvider time, LiveChain chain, CaptureJournals journals,
        FinishingThread finishing, ReportingThread? reporting, ILogger logger, PlanFollower? plan = null, AirWatch? air = null)
    {
        _options = options;
        _source = source;
        _time = time;
        _chain = chain;
        _journals = journals;
        _finishing = finishing;
        _reporting = reporting;
        _logger = logger;
        _plan = plan;
        _air = air;
        _questions = new Questions(options.SourceFormat(), chain.Decoder);
        _disk = new DiskWatch(options, journals, finishing, logger);
        _clock = new ClockWatch(time);
        _runsBegun = chain.FirstPulse >= 0 ? 1 : 0; // a capture that goes on
        _setup = options.Setup();
        _live = new LiveState { Source = source.Detail };
    }

    /// <summary>How things stand; safe to read from any thread.</summary>
    public LiveState Live => Volatile.Read(ref _live);

    /// <summary>The spin under way when it was last asked for; null where there was none. Safe to read from any thread.</summary>
    internal SpinSoFar? SoFar => Volatile.Read(ref _soFar);

    /// <summary>Asks for a new copy of it, which comes with the next live state. For any thread; never waits.</summary>
    internal void AskSoFar() => Volatile.Write(ref _isSoFarAsked, true);

    /// <summary>Sign of life of the thread that captures.</summary>
    internal Heartbeat Beat { get; } = new();

    /// <summary>Sign of life of the thread that writes the present journal.</summary>
    internal Heartbeat JournalBeat => _journals.Current.Writer.Beat;

    /// <summary>True from when the capture ends: what is left to do, saving runs, takes as long as it takes.</summary>
    internal bool IsEnding => Volatile.Read(ref _isEnding);

    /// <summary>Path of the journal that is written now.</summary>
    internal string Journal => _journals.Current.Writer.Path;

    /// <summary>Captures until told to stop, until the source has ended, with <see cref="CaptureOptions.Once"/> until the first run is
    /// finished, or until every row of a plan has its run. A run under way is then ended as the operator's and saved.</summary>
    public CaptureOutcome Run(CancellationToken stop)
    {
        _source.Start();
        _air?.Start();
        bool come = false;
        while (!stop.IsCancellationRequested && !_source.Blocks.IsFinished && !(_options.Once && _runs.Count > 0) && _plan?.Live.IsComplete != true)
        {
            Beat.Beat();
            if (come)
                stop.WaitHandle.WaitOne(TakeEveryMs);
            else
                _source.Blocks.Wait(WaitMs);
            come = TakeBlocks();
            TakeTime();
            TakeOrders();
            TakeFinished();
            if (!come || _time.MonotonicNs() - _publishedNs > PublishNs - (TakeEveryMs * 500_000))
                Publish();
        }

        Volatile.Write(ref _isEnding, true);
        End();

        // With once the first run is the answer; another that had begun meanwhile is saved all the same.
        return new CaptureOutcome(_options.Once ? [.. _runs.Take(1)] : _runs, _failed);
    }

    /// <returns>True where there were any.</returns>
    private bool TakeBlocks()
    {
        bool any = false;
        while (_source.Blocks.TryRead(out SourceBlock block))
        {
            any = true;
            Beat.Beat();

            // First the journal, then the judgement: what is judged wrongly today can be judged again.
            _journals.Current.Writer.TryAppend(block);
            _chain.Take(block, _found);
            if (_found.Count > 0)
                Follow();
            if (block.HostNs - _publishedNs > PublishNs)
                Publish();
        }

        return any;
    }

    private void TakeTime()
    {
        long now = _time.MonotonicNs();
        _chain.PassTime(now, _found);
        Follow();
        _questions.Ask(_source, now);
        OpenJournal journal = _journals.Current;
        _disk.Look(now, _chain.IsBusy);
        _clock.Look(now, journal.Writer);
        _air?.Look(now, journal.Writer);
        bool quiet = !_chain.IsBusy && journal.Writer.Trouble is null && now - _chain.LastPulseNs > QuietNs;
        if (quiet && now >= _changeAtNs && (journal.Runs > 0 || now - journal.BegunNs > JournalSpanNs))
            ChangeJournal(now);
    }

    // Where no new journal can be begun (a full disk), the present one goes on and it is tried again later.
    private void ChangeJournal(long now)
    {
        if (_journals.TryChange(_chain.Pulses) || _journals.NextTrouble is not { } trouble)
            return;
        _changeAtNs = now + QuietNs;
        _logger.LogWarning("No new journal can be begun, the present one goes on: {Problem}", trouble);
    }

    private void Follow()
    {
        foreach (RunTransition t in _found)
            Follow(t);
        _found.Clear();
    }

    private void Follow(in RunTransition t)
    {
        OpenJournal journal = _journals.Current;
        long now = _time.MonotonicNs();
        long first = Math.Max(0, t.FirstPulse - journal.PulsesBefore);
        switch (t.Kind)
        {
            case RunTransitionKind.Began:
                journal.Runs++;
                RunBegan began = _journals.Began(journal, journal.Runs, first);
                _runsBegun++;
                journal.Writer.TryAppend(now, began);
                _setup = began.Setup ?? _options.Setup();
                break;
            case RunTransitionKind.Ended:
                string reason = Reason(t.End);
                long last = t.LastPulse - journal.PulsesBefore;
                _clock.LookNow(now, journal.Writer);
                journal.Writer.TryAppend(now, new RunEnded(journal.Runs, reason, last));
                _plan?.End(journal.Key, journal.Runs);
                _finishing.Add(new EndedRun(journal, journal.Runs, first, last, reason));
                break;
            case RunTransitionKind.Dismissed:
                _runsDismissed++;
                journal.Writer.TryAppend(now, new RunDismissed(journal.Runs));
                journal.CountPackaged();
                _plan?.Drop(journal.Key, journal.Runs);
                _logger.LogInformation("A launch came to nothing: too few turns for a run.");
                break;
        }
    }

    private static string Reason(RunEnd end) => end switch
    {
        RunEnd.Stopped => EndReasons.Stopped,
        RunEnd.SignalLost => EndReasons.SignalLost,
        RunEnd.SourceLost => EndReasons.SourceLost,
        RunEnd.Operator => EndReasons.Operator,
        _ => throw new ArgumentOutOfRangeException(nameof(end), end, null),
    };

    private void TakeFinished()
    {
        while (_finishing.TryTake(out FinishedPackage? done))
        {
            if (done!.Folder is { } folder)
            {
                _runs.Add(folder);
                _plan?.Save(done.Run.Journal.Key, done.Run.Number, folder);
                done.Run.Journal.CountPackaged();
                if (done.Run.Journal == _journals.Current)
                    done.Run.Journal.Writer.TryAppend(_time.MonotonicNs(), new RunPackaged(done.Run.Number, Path.GetFileName(folder)));
                _journals.LetGoWhenSafe(done.Run.Journal);
                Report(folder);
            }
            else
            {
                _failed = true;
                _runsNotSaved++;
                _plan?.Drop(done.Run.Journal.Key, done.Run.Number);
                _trouble = $"A run could not be saved ({done.Fault!.Message}). What was seen is kept in {done.Run.Journal.Writer.Path}.";
            }
        }
    }

    private void End()
    {
        TakeBlocks();
        _chain.Finish(_found);
        Follow();
        if (_source.Blocks.IsFinished)
            _chain.PassTime(_time.MonotonicNs() + (long)((_options.LostWaitS + 1) * 1e9), _found);
        _chain.EndByHand(_found);
        Follow();
        _finishing.WaitForAll();
        TakeFinished();
        Publish();
        long lostBefore = _journals.BytesLost;
        _journals.End();
        if (_journals.BytesLost > lostBefore)
        {
            _failed = true;
            _logger.LogError("The disk did not take the last {Bytes} bytes of the journal: they are lost.", _journals.BytesLost - lostBefore);
        }

        _finishing.Dispose();
        _journals.Dispose();
        _reporting?.Dispose();
        _plan?.Dispose();
        _air?.Dispose();
    }

    /// <summary>Has a page made of a run that is safe; another thread may call it.</summary>
    internal void Report(string folder) => _reporting?.Add(folder);

    private void Publish()
    {
        long now = _time.MonotonicNs();
        _publishedNs = now;
        if (Volatile.Read(ref _isSoFarAsked))
        {
            Volatile.Write(ref _isSoFarAsked, false);
            Volatile.Write(ref _soFar, _chain.SoFar() is { } soFar ? soFar with { Setup = _setup } : null);
        }

        JournalWriter journal = _journals.Current.Writer;
        long lost = _source.Blocks.BytesLost + _journals.BytesLost;
        LiveState state = _chain.Look(now);
        string? disk = journal.Trouble ?? _finishing.Trouble;
        string? other = disk ?? _trouble ?? (lost > 0 ? $"{lost} bytes found no room and are lost." : null);
        string board = _chain.Decoder.BoardName;
        Volatile.Write(ref _live, state with
        {
            Source = board.Length > 0 ? $"{board} on {_source.Detail}" : _source.Detail,
            Counts = state.Counts with { BytesLost = state.Counts.BytesLost + lost },
            FinishedRuns = _runs.Count,
            RunsBegun = _runsBegun,
            RunsDismissed = _runsDismissed,
            RunsNotSaved = _runsNotSaved,
            RunSetup = _runsBegun > 0 ? _setup : null,
            Plan = _plan?.Live.Words,
            LastRun = _runs.Count > 0 ? _runs[^1] : null,
            JournalBytes = journal.AppendedBytes,
            Air = _air?.Live ?? [],
            Trouble = other ?? _disk.Warning ?? _air?.Problem,
            TroubleIsLogged = disk is not null || other is null,
        });
    }
}
