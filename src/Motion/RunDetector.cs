using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>Tells runs apart from what else a sensor sees, from judged pulses and the passing of time.</summary>
/// <remarks>A run begins with a lock that speeds up, or that slows as a free body does where the capture came late; light that flickers
/// does neither. It goes on across any loss of the marks after which the body comes back no faster and no slower than a body can that was
/// left to itself; the tracker's locks do not decide that. It ends when marks cease and stay away: soon, where the body was slow enough
/// to have fallen and the sensor still sees something else; later, where nothing shows that the sensor still sees; after a long wait,
/// where it was too fast to fall.</remarks>
public sealed class RunDetector(RunRules rules)
{
    private const double PushAgainS = 10;       // pushes that follow each other within this are one launch
    private const double TouchedS = 1.5;        // a hand that takes up a spinning body hides it no longer than this
    private const double PeakAgain = 1.02;      // the live speed wavers: only so much more than the peak is another push
    private const double SpeedsUp = 1.3;        // no body does so by itself
    private const int StepsToHand = 2;          // so many speeds in a row, of half a second and more each
    private const double FallenShare = 0.6;     // of the speed at which marks ceased: a body as slow as that has fallen
    private const int StraysToWitness = 3;      // so many pulses that are no marks show that the sensor sees and the body has fallen
    private readonly MainsLight _mains = new(rules.TickHz);
    private readonly BodyCourse _course = new(rules.TickHz);
    private long _ordinal = -1;
    private LockWatch _lock;
    private bool _isOpen;
    private bool _isApart;      // marks come that have not been shown to be the run's
    private bool _wasSteady;
    private long _firstPulse;
    private long _firstTicks;
    private int _runLock;
    private double _peak;
    private long _peakTicks;
    private double _peakTurns;
    private double _turns;
    private double _turnsBefore;
    private double _lastSpeed;
    private long _lastMarkTicks;
    private int _strays;
    private double _silentS;
    private double _silentWhileUpS;
    private int _fasterSteps;
    private LockWatch _faster;

    /// <summary>The phase.</summary>
    public RunPhase Phase { get; private set; } = RunPhase.Waiting;

    /// <summary>Seconds since the speed peaked; NaN before the release.</summary>
    public double SinceReleaseS(long nowTicks) =>
        Phase is RunPhase.Spinning or RunPhase.Lost ? (nowTicks - _peakTicks) / rules.TickHz : double.NaN;

    /// <summary>The highest speed of the run, turns a second; NaN where there is none.</summary>
    public double PeakTurnsPerS => _isOpen ? _peak : double.NaN;

    /// <summary>Ordinal of the run's first pulse; −1 where there is none.</summary>
    public long FirstPulse => _isOpen ? _firstPulse : -1;

    /// <summary>True while something that might become a run is being watched: not the moment to put things away.</summary>
    public bool IsBusy => _isOpen || _lock.Marks > 0;

    /// <summary>Takes the next judged pulse; all pulses must be shown, in order.</summary>
    public void See(in JudgedPulse pulse, MarkTracker tracker, List<RunTransition> found)
    {
        _ordinal++;
        _mains.See(pulse.Ticks);
        if (pulse.Kind != PulseKind.Mark)
        {
            if (Phase == RunPhase.Lost)
                _strays++;
            return;
        }

        bool isNew = tracker.LockNumber != _lock.Number || _lock.Marks == 0;
        if (_isOpen && !_isApart && (Phase == RunPhase.Lost || tracker.LockNumber != _runLock))
            isNew = _isApart = true;
        if (isNew)
            Watch(pulse, tracker);
        _lock.See(tracker, pulse.Ticks);
        if (_isOpen && _isApart)
            Recognise(pulse, tracker, found);
        else if (_isOpen)
            Go(pulse, tracker, found);
        else if (IsLaunch(tracker) || IsSpinningAlready(tracker))
            Begin(tracker, found);
        if (_isOpen && Phase == RunPhase.Launching)
            SeeRelease(pulse, tracker, found);
    }

    /// <summary>Tells how late it is.</summary>
    /// <param name="nowTicks">The source's ticks now, foretold where it is silent.</param>
    /// <param name="linkUp">Whether the link to the source is there.</param>
    /// <param name="found">Receives what follows from it.</param>
    public void PassTime(long nowTicks, bool linkUp, List<RunTransition> found)
    {
        if (_lock.Marks > 0 && !_isOpen && (nowTicks - _lock.LastTicks) / rules.TickHz > 5)
            _lock.Clear();
        if (!_isOpen)
            return;
        _silentS = (nowTicks - _lastMarkTicks) / rules.TickHz;
        if (Phase is RunPhase.Launching or RunPhase.Spinning && _silentS > Math.Max(1, 4 / Math.Max(_lastSpeed, 0.1)))
        {
            Phase = RunPhase.Lost;
            _strays = 0;
            found.Add(Transition(RunTransitionKind.Lost, _lastMarkTicks));
        }

        if (Phase != RunPhase.Lost)
            return;
        _silentWhileUpS = linkUp ? _silentS : Math.Min(_silentWhileUpS, _silentS);

        // A port that goes away after the body has long fallen takes nothing from its end.
        if (!linkUp && FellBefore && _silentWhileUpS > rules.StopWaitS)
        {
            Close(RunEnd.Stopped, _ordinal, found);
            return;
        }

        bool stopped = SeemsStopped && linkUp;
        bool mayBeBack = _isApart && (nowTicks - _lock.LastTicks) / rules.TickHz < TouchedS && !_mains.IsSeen;
        if (mayBeBack && _silentS < rules.LostWaitS)
            return;
        if (_silentS > (stopped ? StopWaitS() : rules.LostWaitS))
            Close(stopped ? RunEnd.Stopped : linkUp ? RunEnd.SignalLost : RunEnd.SourceLost, _ordinal, found);
    }

    /// <summary>Ends a run that is under way at the user's word.</summary>
    public void EndByHand(List<RunTransition> found)
    {
        if (_isOpen)
            Close(FellBefore && _silentS > rules.StopWaitS ? RunEnd.Stopped : RunEnd.Operator, _ordinal, found);
    }

    private bool IsLaunch(MarkTracker tracker) => _lock.IsLaunch(tracker, rules.LeastLaunchTurnsPerS) && !_mains.IsSeen;

    private bool IsSpinningAlready(MarkTracker tracker) => _lock.IsSpinningAlready(tracker, rules.TickHz) && !_mains.IsSeen;

    // A lock that broke at an instant and is there again under another number is watched as one.
    private void Watch(in JudgedPulse pulse, MarkTracker tracker)
    {
        LockWatch watch = LockWatch.Begin(tracker, _ordinal, pulse.Ticks, fresh: tracker.LockNumber != _lock.Number);
        bool follows = !_isOpen && _lock.Marks > 0 && (pulse.Ticks - _lock.LastTicks) / rules.TickHz < TouchedS && !_mains.IsSeen;
        _lock = follows ? watch.After(_lock) : watch;
    }

    // The speed at which the marks ceased, by what went before: the last few speeds may be those of the fall.
    private bool SeemsStopped =>
        Math.Min(_lastSpeed, _course.SpeedAt(_lastMarkTicks, _lastSpeed)) < Math.Max(rules.StopBelowTurnsPerS, 0.25 * _peak);

    private double StopWaitS() =>
        _strays >= StraysToWitness ? rules.StopWaitS : Math.Clamp(_course.FallsInS(FallenShare), rules.StopWaitS, Math.Max(rules.StopWaitS, rules.UnseenWaitS));

    private void Begin(MarkTracker tracker, List<RunTransition> found)
    {
        _isOpen = true;
        _wasSteady = false;
        _firstPulse = _lock.FirstPulse;
        _firstTicks = _lock.FirstTicks;
        _turnsBefore = 0;
        _peak = 0;
        Adopt(tracker);
        found.Add(Transition(RunTransitionKind.Began, _firstTicks));
    }

    // The lock is the run's, and a hand drives the body.
    private void Adopt(MarkTracker tracker)
    {
        _isApart = false;
        _runLock = tracker.LockNumber;
        Phase = RunPhase.Launching;
        Note(tracker);
        Peak();
    }

    private void Peak()
    {
        (_peak, _peakTicks, _peakTurns) = (_lastSpeed, _lastMarkTicks, _turns);
        _course.Begin(_lastMarkTicks);
        _fasterSteps = 0;
    }

    private void Note(MarkTracker tracker)
    {
        _turns = _turnsBefore + tracker.Turns;
        _lastSpeed = tracker.SpeedTurnsPerS;
        _lastMarkTicks = tracker.LastMarkTicks;
    }

    private void Go(in JudgedPulse pulse, MarkTracker tracker, List<RunTransition> found)
    {
        Note(tracker);
        double sincePeak = (pulse.Ticks - _peakTicks) / rules.TickHz;
        bool faster = Phase == RunPhase.Launching ? _lastSpeed > _peak : sincePeak < PushAgainS && _lastSpeed > PeakAgain * _peak;
        if (faster)
        {
            Phase = RunPhase.Launching;
            Peak();
            return;
        }

        _wasSteady |= Phase == RunPhase.Spinning && tracker.Scatter < LockWatch.SteadyScatter;
        double most = _course.Foretold(pulse.Ticks, _peak).Most;
        if (_course.Add(pulse.Ticks, tracker.Turns, tracker.LockNumber) && Phase == RunPhase.Spinning)
            WatchForHand(most, pulse, tracker, found);
    }

    // A body does not speed up by itself: a hand took it up again without stopping it, and that is another run.
    private void WatchForHand(double most, in JudgedPulse pulse, MarkTracker tracker, List<RunTransition> found)
    {
        if (_course.LastTurnsPerS < SpeedsUp * most || tracker.Scatter > LockWatch.SteadyScatter)
        {
            _fasterSteps = 0;
            _faster = LockWatch.Begin(tracker, _ordinal + 1, pulse.Ticks, fresh: false);
        }
        else if (++_fasterSteps == StepsToHand)
        {
            _lock = _faster;
            _lock.See(tracker, pulse.Ticks);
            Close(RunEnd.Operator, _faster.FirstPulse - 1, found);
            Begin(tracker, found);
        }
    }

    private void SeeRelease(in JudgedPulse pulse, MarkTracker tracker, List<RunTransition> found)
    {
        if (_isApart || _turns - _peakTurns < 3 || (pulse.Ticks - _peakTicks) / rules.TickHz <= 0.5)
            return;
        Phase = RunPhase.Spinning;
        found.Add(Transition(RunTransitionKind.Released, _peakTicks));
    }

    // Marks came back, or the tracker has locked anew: the run's body, the hand again, another body, or no body at all.
    private void Recognise(in JudgedPulse pulse, MarkTracker tracker, List<RunTransition> found)
    {
        double awayS = (_lock.FirstTicks - _lastMarkTicks) / rules.TickHz;
        if (IsLaunch(tracker))
        {
            bool touched = awayS < Math.Max(TouchedS, 3 / Math.Max(_lastSpeed, 0.1));
            if (touched && (_lastMarkTicks - _peakTicks) / rules.TickHz < PushAgainS && !FellBefore)
            {
                _turnsBefore = _turns;
                Adopt(tracker);
                return;
            }

            Close(SeemsStopped ? RunEnd.Stopped : touched ? RunEnd.Operator : RunEnd.SignalLost, _lock.FirstPulse - 1, found);
            Begin(tracker, found);
            return;
        }

        (double least, double most) = _course.Foretold(pulse.Ticks, _peak);
        bool fits = tracker.SpeedTurnsPerS >= least && tracker.SpeedTurnsPerS <= most;
        if (fits && _lock.IsFree(tracker) && !_mains.IsSeen)
            Return(tracker, found);
        else if (!fits && IsSpinningAlready(tracker))
        {
            Close(SeemsStopped ? RunEnd.Stopped : RunEnd.SignalLost, _lock.FirstPulse - 1, found);
            Begin(tracker, found);
        }
    }

    private bool FellBefore => SeemsStopped && Phase == RunPhase.Lost;

    private void Return(MarkTracker tracker, List<RunTransition> found)
    {
        _isApart = false;
        if (tracker.LockNumber != _runLock)
            _turnsBefore = _turns;
        _runLock = tracker.LockNumber;
        _course.Break();
        if (Phase == RunPhase.Lost)
        {
            Phase = RunPhase.Spinning;
            found.Add(Transition(RunTransitionKind.Back, _lock.FirstTicks));
        }

        Note(tracker);
    }

    private void Close(RunEnd end, long lastPulse, List<RunTransition> found)
    {
        bool isRun = _wasSteady && _turns >= rules.LeastTurns && (_lastMarkTicks - _firstTicks) / rules.TickHz >= rules.LeastS;
        found.Add(new RunTransition(
            isRun ? RunTransitionKind.Ended : RunTransitionKind.Dismissed, _firstPulse, lastPulse, _lastMarkTicks, end));
        _isOpen = _isApart = false;
        Phase = RunPhase.Waiting;
        _lock.Clear();
    }

    private RunTransition Transition(RunTransitionKind kind, long ticks) =>
        new(kind, _firstPulse, _ordinal, ticks, RunEnd.None);
}
