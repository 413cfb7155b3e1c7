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
    private const double LaunchesBy = 1.3;      // a launch multiplies the speed of its lock at least so much
    private const double LaunchesSurelyBy = 2.5; // more than a mark or two that a fresh lock overlooks can feign
    private const double SpeedsUp = 1.2;        // no body does so by itself
    private const double AfterLastS = 5;        // what comes later than this after the last mark is no part of the run
    private const double ComesS = 2;            // while pulses come nothing is ended that they may yet turn out to belong to
    private const double StrayS = 0.2;          // a bounce comes sooner after its mark
    private const int RateTurns = 4;            // pulses are counted over so many turns' marks
    private const double RateSlack = 0.75;      // for those missed and those that are none
    private const int StepsToHand = 2;          // so many speeds in a row, of half a second and more each
    private const double FallenShare = 0.4;     // of the speed below which a spin may end: a body as slow as that has fallen
    private const int StraysToWitness = 3;      // so many pulses that are no marks show that the sensor sees and the body has fallen
    private readonly MainsLight _mains = new(rules.TickHz);
    private readonly PulseRate _pulses = new(rules.TickHz);
    private readonly BodyCourse _course = new(rules.TickHz);
    private long _ordinal = -1;
    private LockWatch? _lock;
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
    private double _mostSpeed;  // where the course does not tell yet
    private long _lastMarkTicks;
    private int _strays;
    private long _lastPulseTicks;
    private long _lastNear;
    private double _silentS;
    private double _silentWhileUpS;
    private int _fasterSteps;
    private LockWatch? _faster;

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
    public bool IsBusy => _isOpen || _lock is not null;

    /// <summary>Hears of a pulse as it comes, before it is judged, which may be long after: it shows that the sensor sees.</summary>
    public void Hear(long ticks)
    {
        _lastPulseTicks = ticks;
        _strays += (ticks - _lastMarkTicks) / rules.TickHz > StrayS ? 1 : 0;
    }

    /// <summary>Takes the next judged pulse; all pulses must be shown, in order.</summary>
    public void See(in JudgedPulse pulse, MarkTracker tracker, List<RunTransition> found)
    {
        _ordinal++;
        _mains.See(pulse.Ticks);
        _pulses.See(pulse.Ticks);
        if ((pulse.Ticks - _lastMarkTicks) / rules.TickHz < AfterLastS)
            _lastNear = _ordinal;
        if (pulse.Kind != PulseKind.Mark)
            return;

        bool parts = _isOpen && !_isApart && (Phase == RunPhase.Lost || tracker.LockNumber != _runLock);
        _isApart |= parts;
        if (parts || _lock is null || tracker.LockNumber != _lock.Number)
            _lock = Watch(pulse, tracker);
        _lock.See(pulse);
        if (_isOpen && _isApart)
            Recognise(pulse, _lock, tracker, found);
        else if (_isOpen)
            Go(pulse, tracker, found);
        else if (IsLaunch(_lock, tracker, LaunchesBy) || IsSpinningAlready(_lock, tracker))
            Begin(_lock, tracker, found);
        if (_isOpen && Phase == RunPhase.Launching)
            SeeRelease(pulse, tracker, found);
    }

    /// <summary>Tells how late it is.</summary>
    /// <param name="nowTicks">The source's ticks now, foretold where it is silent.</param>
    /// <param name="linkUp">Whether the link to the source is there.</param>
    /// <param name="found">Receives what follows from it.</param>
    public void PassTime(long nowTicks, bool linkUp, List<RunTransition> found)
    {
        if (_lock is not null && !_isOpen && (nowTicks - _lock.LastTicks) / rules.TickHz > 5)
            _lock = null;
        if (!_isOpen)
            return;
        _silentS = (nowTicks - _lastMarkTicks) / rules.TickHz;
        if (Phase is RunPhase.Launching or RunPhase.Spinning && _silentS > Math.Max(1, 4 / Math.Max(_lastSpeed, 0.1)))
        {
            Phase = RunPhase.Lost;
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
        bool mayBeBack = (nowTicks - _lastPulseTicks) / rules.TickHz < ComesS && !_mains.IsSeen;
        if (mayBeBack && _silentS < rules.LostWaitS)
            return;
        if (_silentS > (stopped ? StopWaitS() : rules.LostWaitS))
            Close(stopped ? RunEnd.Stopped : linkUp ? RunEnd.SignalLost : RunEnd.SourceLost, _lastNear, found);
    }

    /// <summary>Ends a run that is under way at the user's word.</summary>
    public void EndByHand(List<RunTransition> found)
    {
        if (_isOpen)
            Close(FellBefore && _silentS > rules.StopWaitS ? RunEnd.Stopped : RunEnd.Operator, _ordinal, found);
    }

    private bool IsLaunch(LockWatch watch, MarkTracker tracker, double speedUp) =>
        watch.IsLaunch(tracker, rules.LeastLaunchTurnsPerS, speedUp) && !_mains.IsSeen;

    private bool IsSpinningAlready(LockWatch watch, MarkTracker tracker) => watch.IsSpinningAlready(tracker) && !_mains.IsSeen;

    // A lock that broke at an instant and is there again under another number is watched as one.
    private LockWatch Watch(in JudgedPulse pulse, MarkTracker tracker)
    {
        bool follows = !_isOpen && _lock is not null && (pulse.Ticks - _lock.LastTicks) / rules.TickHz < TouchedS && !_mains.IsSeen;
        return new LockWatch(tracker.LockNumber, _ordinal, pulse, follows ? _lock : null, rules.TickHz);
    }

    // The speed at which the marks ceased, by what went before: the last few speeds may be those of the fall.
    private bool SeemsStopped =>
        Math.Min(_lastSpeed, _course.SpeedAt(_lastMarkTicks, _lastSpeed)) < rules.MayEndBelow(_peak);

    private double StopWaitS() =>
        _strays >= StraysToWitness ? rules.StopWaitS : Math.Clamp(_course.FallsInS(Math.Min(0.6, FallenShare * rules.StopBelowTurnsPerS / Math.Max(_lastSpeed, 0.1))), rules.StopWaitS, Math.Max(rules.StopWaitS, rules.UnseenWaitS));

    private void Begin(LockWatch watch, MarkTracker tracker, List<RunTransition> found)
    {
        _isOpen = true;
        _wasSteady = false;
        _firstPulse = watch.FirstPulse;
        _firstTicks = watch.FirstTicks;
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
        _mostSpeed = _peak;
        _fasterSteps = 0;
    }

    private void Note(MarkTracker tracker)
    {
        _turns = _turnsBefore + tracker.Turns;
        _lastSpeed = tracker.SpeedTurnsPerS;
        _lastMarkTicks = tracker.LastMarkTicks;
        _strays = 0;
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
        double most = _course.Foretold(pulse.Ticks, _mostSpeed).Most;
        if (_course.Add(pulse.Ticks, tracker.Turns, tracker.LockNumber) && Phase == RunPhase.Spinning)
            WatchForHand(most, pulse, tracker, found);
    }

    // A body does not speed up by itself: a hand took it up again without stopping it, and that is another run.
    private void WatchForHand(double most, in JudgedPulse pulse, MarkTracker tracker, List<RunTransition> found)
    {
        int marks = tracker.MarkOffsets.Count;
        bool goesOn = _pulses.HasBeenWithin(RateTurns * marks, 0, most * marks / RateSlack);
        if (goesOn || _course.LastTurnsPerS < SpeedsUp * most || tracker.Scatter > LockWatch.SteadyScatter)
        {
            _fasterSteps = 0;
            _faster = null;
            return;
        }

        _faster ??= new LockWatch(tracker.LockNumber, _ordinal, pulse, null, rules.TickHz);
        if (++_fasterSteps < StepsToHand)
            return;
        Close(RunEnd.Operator, _faster.FirstPulse - 1, found);
        _lock = _faster;
        Begin(_lock, tracker, found);
    }

    private void SeeRelease(in JudgedPulse pulse, MarkTracker tracker, List<RunTransition> found)
    {
        if (_isApart || _turns - _peakTurns < 3 || (pulse.Ticks - _peakTicks) / rules.TickHz <= 0.5)
            return;
        Phase = RunPhase.Spinning;
        found.Add(Transition(RunTransitionKind.Released, _peakTicks));
    }

    // Marks came back, or the tracker has locked anew: the run's body, the hand again, another body, or no body at all.
    private void Recognise(in JudgedPulse pulse, LockWatch watch, MarkTracker tracker, List<RunTransition> found)
    {
        (double least, double most) = _course.Foretold(pulse.Ticks, _mostSpeed);
        double speed = watch.SpeedTurnsPerS;
        bool free = watch.IsFree(tracker) && !_mains.IsSeen;
        double awayS = (watch.FirstTicks - _lastMarkTicks) / rules.TickHz;
        bool touched = awayS < Math.Max(TouchedS, 3 / Math.Max(_lastSpeed, 0.1));
        int marks = tracker.MarkOffsets.Count;
        bool goesOn = _course.IsKnown && !_mains.IsSeen
            && _pulses.HasBeenWithin(RateTurns * marks, RateSlack * least * marks, most * marks / RateSlack);
        bool launched = !goesOn && IsLaunch(watch, tracker, speed > most ? LaunchesBy : LaunchesSurelyBy);
        bool pushed = touched && (_lastMarkTicks - _peakTicks) / rules.TickHz < PushAgainS && !FellBefore;
        if (pushed && (launched || (free && !goesOn && speed > most)))
        {
            _turnsBefore = _turns;
            Adopt(tracker);
        }
        else if (free && speed >= least && speed <= most)
        {
            Return(watch, tracker, found);
        }
        else if (free && touched && Phase != RunPhase.Lost && _pulses.IsSteady(RateTurns * marks))
        {
            // The tracker thinks otherwise than before, but the body does as it did.
            Return(watch, tracker, found);
            _course.Begin(_lastMarkTicks);
            _mostSpeed = speed;
        }
        else if (launched || (!goesOn && IsSpinningAlready(watch, tracker) && (speed < least || speed > most)))
        {
            Close(SeemsStopped ? RunEnd.Stopped : touched ? RunEnd.Operator : RunEnd.SignalLost, Math.Min(_lastNear, watch.FirstPulse - 1), found);
            _lock = watch;
            Begin(watch, tracker, found);
        }
    }

    private bool FellBefore => SeemsStopped && Phase == RunPhase.Lost;

    private void Return(LockWatch watch, MarkTracker tracker, List<RunTransition> found)
    {
        _isApart = false;
        if (tracker.LockNumber != _runLock)
            _turnsBefore = _turns;
        _runLock = tracker.LockNumber;
        _course.Break();
        if (Phase == RunPhase.Lost)
        {
            // What went before says little of how it slows now.
            _course.Begin(watch.LastTicks);
            _mostSpeed = watch.SpeedTurnsPerS;
            Phase = RunPhase.Spinning;
            found.Add(Transition(RunTransitionKind.Back, watch.FirstTicks));
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
        _lock = null;
    }

    private RunTransition Transition(RunTransitionKind kind, long ticks) =>
        new(kind, _firstPulse, _ordinal, ticks, RunEnd.None);
}
