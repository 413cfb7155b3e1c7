using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>Tells runs apart from what else a sensor sees, from judged pulses and the passing of time.</summary>
/// <remarks>A run begins with a lock that speeds up, or that slows as a free body does where the capture came late; light that flickers
/// does neither. It goes on across any loss of the marks after which the body comes back no faster and no slower than a body can that was
/// left to itself; the tracker's locks do not decide that. It ends when marks cease and stay away: soon, where the body was slow enough
/// to have fallen and the sensor still sees something else; later, where nothing shows that the sensor still sees; after a long wait,
/// where it was too fast to fall.</remarks>
public sealed class RunDetector
{
    private const double PeakAgain = 1.02;      // the live speed wavers: only so much more than the peak is another push
    private const double LockIsOverS = 5;
    private const int LeastMarksByHand = 4;    // for the lock's speed to be known
    private const int LampMarks = 30;           // a launch that passes through the beat of light does so for fewer
    private const int LookEvery = 16;           // marks, for what need not be looked at each time
    private readonly RunRules _rules;
    private readonly HeardPulses _heard;
    private readonly MainsLight _mains;
    private readonly PulseRate _rate;
    private readonly OpenRun _run;
    private readonly Comeback _comeback;
    private readonly HandWatch _hand;
    private readonly SilenceWatch _silence;
    private long _ordinal = -1;
    private long _ended = -1;   // ordinal of the last pulse of the run before
    private LockWatch? _lock;
    private BeforeBack? _before; // the last return of the run's marks
    private bool _isOpen;
    private bool _isApart;      // marks come that have not been shown to be the run's
    private int _lampMarks;
    private int _marks = 1;
    private bool _isLeft;       // what turns was left by the user's word: it is no run by itself
    private int _own;

    /// <summary>Makes a detector that has seen nothing.</summary>
    public RunDetector(RunRules rules)
    {
        _rules = rules;
        _heard = new HeardPulses(rules.TickHz);
        _mains = new MainsLight(rules.TickHz);
        _rate = new PulseRate(rules.TickHz);
        _run = new OpenRun(rules);
        _comeback = new Comeback(rules, _heard, _mains, _rate);
        _hand = new HandWatch(rules.TickHz, _rate);
        _silence = new SilenceWatch(rules, _heard, _run);
    }

    /// <summary>The phase.</summary>
    public RunPhase Phase => _isOpen ? _run.Phase : RunPhase.Waiting;

    /// <summary>Seconds since the speed peaked; NaN before the release.</summary>
    public double SinceReleaseS(long nowTicks) => Phase is RunPhase.Spinning or RunPhase.Lost ? _run.SincePeakS(nowTicks) : double.NaN;

    /// <summary>The highest speed of the run, turns a second; NaN where there is none.</summary>
    public double PeakTurnsPerS => _isOpen ? _run.PeakTurnsPerS : double.NaN;

    /// <summary>Ordinal of the run's first pulse; −1 where there is none.</summary>
    public long FirstPulse => _isOpen ? _run.FirstPulse : -1;

    /// <summary>True while something that might become a run is being watched: not the moment to put things away.</summary>
    public bool IsBusy => _isOpen || _lock is not null;

    /// <summary>Whether a run begins by itself; else only by <see cref="StartByHand"/>.</summary>
    public bool IsAutomatic { get; set; } = true;

    /// <summary>True where something turns that could be taken for a run.</summary>
    public bool CanStart => !_isOpen && _lock is { Marks: > LeastMarksByHand };

    private bool FellBefore => _run.SeemsStopped && _run.Phase == RunPhase.Lost;

    /// <summary>Hears of a pulse as it comes, before it is judged, which may be long after: it shows that the sensor sees.</summary>
    public void Hear(long ticks)
    {
        _heard.Hear(ticks);
        if (Phase == RunPhase.Lost)
            _silence.Hear(ticks, _marks);
    }

    /// <summary>Takes the next judged pulse; all pulses must be shown, in order. One that was not heard of before is heard of now.</summary>
    public void See(in JudgedPulse pulse, MarkTracker tracker, List<RunTransition> found)
    {
        if (++_ordinal > _heard.Last)
            Hear(pulse.Ticks);
        _mains.See(pulse.Ticks);
        _rate.See(pulse.Ticks);
        if (pulse.Kind != PulseKind.Mark || IsLampAlone())
            return;
        bool parts = _isOpen && !_isApart && (Phase == RunPhase.Lost || tracker.LockNumber != _run.Lock);
        _isApart |= parts;
        if (parts || _lock is null || tracker.LockNumber != _lock.Number || (_isApart && IsOver(_lock, pulse.Ticks)))
            _lock = Watch(pulse, tracker);
        _lock.See(pulse);
        if (_isOpen && _isApart)
            Recognise(pulse, _lock, tracker, found);
        else if (_isOpen)
            Go(pulse, tracker, found);
        else if (IsAutomatic && (_comeback.IsLaunch(_lock, tracker, Comeback.LaunchesBy) || (!_isLeft && _comeback.IsSpinningAlready(_lock, tracker))))
            Begin(_lock, tracker, found);
        if (Phase == RunPhase.Launching)
            SeeRelease(pulse, found);
    }

    /// <summary>Tells how late it is.</summary>
    /// <param name="nowTicks">The source's ticks now, foretold where it is silent.</param>
    /// <param name="linkUp">Whether the link to the source is there.</param>
    /// <param name="found">Receives what follows from it.</param>
    public void PassTime(long nowTicks, bool linkUp, List<RunTransition> found)
    {
        if (_lock is not null && !_isOpen && IsOver(_lock, nowTicks))
            _lock = null;
        _isLeft &= _lock is not null || nowTicks - _heard.LastTicks < LockIsOverS * _rules.TickHz;
        if (!_isOpen)
            return;
        _silence.PassTime(nowTicks);
        if (Phase is RunPhase.Launching or RunPhase.Spinning && _silence.IsLost)
        {
            _run.Phase = RunPhase.Lost;
            found.Add(Transition(RunTransitionKind.Lost, _run.LastMarkTicks));
        }

        if (Phase == RunPhase.Lost && _silence.End(nowTicks, linkUp) is not RunEnd.None and RunEnd end)
            Close(end, _silence.LastPulse(_marks), found);
    }

    /// <summary>Takes what turns now for a run at the user's word.</summary>
    public void StartByHand(MarkTracker tracker, List<RunTransition> found)
    {
        ArgumentNullException.ThrowIfNull(found);
        if (CanStart)
            Begin(_lock!, tracker, found);
    }

    /// <summary>Ends a run that is under way at the user's word. A body that spins on is no other run unless a hand launches it anew.</summary>
    public void EndByHand(List<RunTransition> found)
    {
        _isLeft |= _isOpen;
        if (_isOpen)
            Close(FellBefore && _silence.SilentS > _rules.StopWaitS ? RunEnd.Stopped : RunEnd.Operator, _silence.LastPulse(_marks), found);
    }

    // While nothing runs, marks that beat like light for long are light: the lock is none.
    private bool IsLampAlone()
    {
        if (_isOpen)
            return false;
        _lampMarks = _mains.IsSeen ? _lampMarks + 1 : 0;
        if (_lampMarks <= LampMarks)
            return false;
        _lock = null;
        return true;
    }

    // What comes after so long a silence is seen anew, though the tracker may still hold its lock.
    private bool IsOver(LockWatch watch, long nowTicks) => (nowTicks - watch.LastTicks) / _rules.TickHz > LockIsOverS;

    // A lock that broke at an instant and is there again under another number is watched as one.
    private LockWatch Watch(in JudgedPulse pulse, MarkTracker tracker)
    {
        bool follows = !_isOpen && _lock is not null && (pulse.Ticks - _lock.LastTicks) / _rules.TickHz < Comeback.TouchedS && !_mains.IsSeen;
        return new LockWatch(tracker.LockNumber, _ordinal, pulse, follows ? _lock : null, _rules.TickHz);
    }

    private void Begin(LockWatch watch, MarkTracker tracker, List<RunTransition> found)
    {
        _isOpen = true;
        _isApart = _isLeft = false;
        _marks = tracker.MarkOffsets.Count;
        _run.Begin(_heard.FirstOfLaunch(watch.FirstPulse, _ended + 1), watch, tracker);
        NoteMark();
        _hand.Reset();
        _before = null;
        found.Add(Transition(RunTransitionKind.Began, watch.FirstTicks));
    }

    private void NoteMark()
    {
        _heard.NoteMark(_run.LastMarkTicks, _ordinal);
        _rate.Keep(Comeback.RateTurns * _marks);
    }

    private void Go(in JudgedPulse pulse, MarkTracker tracker, List<RunTransition> found)
    {
        double most = _run.Foretold(pulse.Ticks).Most;

        // Light that came when the body fell and that the tracker took for its marks.
        if (Phase == RunPhase.Spinning && tracker.SpeedTurnsPerS > most && _mains.IsSeen)
            return;
        _run.Note(tracker);
        NoteMark();
        double again = Phase == RunPhase.Launching ? 1 : _run.SincePeakS(pulse.Ticks) < Comeback.PushAgainS ? PeakAgain : double.PositiveInfinity;
        if (_run.SpeedTurnsPerS > again * _run.PeakTurnsPerS)
            PushAgain();
        else if (_run.AddToCourse(tracker) && Phase == RunPhase.Spinning)
            WatchForHand(most, pulse, tracker, found);
        if (++_own % LookEvery == 0)
            _run.LookForLight(_mains.IsSeen);
    }

    private void WatchForHand(double most, in JudgedPulse pulse, MarkTracker tracker, List<RunTransition> found)
    {
        switch (_hand.See(most, pulse, _ordinal, tracker, _run))
        {
            case HandKind.Errs:
                _run.DropFromCourse();
                break;
            case HandKind.Rethought:
                _run.BeginCourse(tracker);
                break;
            case HandKind.Hand:
                TakeUp(_hand.Since!, tracker, found);
                break;
        }
    }

    private void PushAgain()
    {
        _run.Phase = RunPhase.Launching;
        _run.NotePeak();
        _hand.Reset();
    }

    // A hand took the body up again without stopping it. Soon after the launch that is another push of it, later another run.
    private void TakeUp(LockWatch since, MarkTracker tracker, List<RunTransition> found)
    {
        if (_run.SincePeakS(since.FirstTicks) < Comeback.PushAgainS)
        {
            PushAgain();
            return;
        }

        Relaunch(since, RunEnd.Operator, since.FirstPulse - 1, tracker, found);
    }

    // Ends the run and begins another. What came back shortly before a push was being launched already, unless it was seen to slow as a body
    // left to itself: the run ended before it.
    private void Relaunch(LockWatch since, RunEnd end, long lastPulse, MarkTracker tracker, List<RunTransition> found)
    {
        bool wasLaunched = _before is not null && (since.FirstTicks - _before.Watch.FirstTicks) / _rules.TickHz < Comeback.PushAgainS && !_run.IsCourseKnown;
        LockWatch begins = wasLaunched ? _before!.Watch : since;
        if (wasLaunched)
            Close(_before!.SeemsStopped ? RunEnd.Stopped : RunEnd.SignalLost, _before.LastPulse, _before.LastMarkTicks, _before.IsRun, found);
        else
            Close(end, lastPulse, found);
        _lock = begins;
        if (IsAutomatic)
            Begin(begins, tracker, found);
    }

    private void SeeRelease(in JudgedPulse pulse, List<RunTransition> found)
    {
        if (_isApart || !_run.IsReleased(pulse.Ticks))
            return;
        _run.Phase = RunPhase.Spinning;
        found.Add(Transition(RunTransitionKind.Released, _run.PeakTicks));
    }

    // Marks came back, or the tracker has locked anew.
    private void Recognise(in JudgedPulse pulse, LockWatch watch, MarkTracker tracker, List<RunTransition> found)
    {
        switch (_comeback.Tell(pulse.Ticks, watch, tracker, _run))
        {
            case ComebackKind.Same:
                Return(watch, tracker, _run.Phase == RunPhase.Lost, found);
                break;
            case ComebackKind.Rethought:
                Return(watch, tracker, true, found);
                break;
            case ComebackKind.Pushed:
                _isApart = false;
                _run.Drive(tracker);
                NoteMark();
                break;
            case ComebackKind.Another:
                RunEnd end = _run.SeemsStopped ? RunEnd.Stopped : _comeback.IsTouched(_run) ? RunEnd.Operator : RunEnd.SignalLost;
                Relaunch(watch, end, _silence.LastBefore(watch, _marks), tracker, found);
                break;
        }
    }

    private void Return(LockWatch watch, MarkTracker tracker, bool anew, List<RunTransition> found)
    {
        _isApart = false;
        bool wasLost = _run.Phase == RunPhase.Lost;
        if (wasLost)
            _before = new BeforeBack(watch, _silence.LastBefore(watch, _marks), _run.LastMarkTicks, _run.IsRun, _run.SeemsStopped);
        _run.Phase = wasLost ? RunPhase.Spinning : _run.Phase;
        _run.Resume(tracker, watch.SpeedTurnsPerS, anew);
        NoteMark();
        if (wasLost)
            found.Add(Transition(RunTransitionKind.Back, watch.FirstTicks));
    }

    private void Close(RunEnd end, long lastPulse, List<RunTransition> found) => Close(end, lastPulse, _run.LastMarkTicks, _run.IsRun, found);

    private void Close(RunEnd end, long lastPulse, long lastMarkTicks, bool isRun, List<RunTransition> found)
    {
        found.Add(new RunTransition(isRun ? RunTransitionKind.Ended : RunTransitionKind.Dismissed, _run.FirstPulse, lastPulse, lastMarkTicks, end));
        _ended = isRun ? lastPulse : _ended;
        _isOpen = _isApart = false;
        _lock = null;
    }

    private RunTransition Transition(RunTransitionKind kind, long ticks) => new(kind, _run.FirstPulse, _ordinal, ticks, RunEnd.None);
}
