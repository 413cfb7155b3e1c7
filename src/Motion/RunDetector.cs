using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>Tells runs apart from what else a sensor sees, from judged pulses and the passing of time.</summary>
/// <remarks>A run begins with a lock that speeds up, or that slows as a free body does where the capture came late; light that flickers
/// does neither. It ends when marks cease and stay away: soon, where the body was slow enough to have fallen, else after a long
/// wait.</remarks>
public sealed class RunDetector(RunRules rules)
{
    private const double SpeedUp = 1.3;         // a launch multiplies the speed of its lock at least so much
    private const double PushAgainS = 10;       // pushes that follow each other within this are one launch
    private const double LooseScatter = 0.12;   // of the spacing: more than this and the pulses are as good as random
    private const double SteadyScatter = 0.06;  // a body that spins freely is steadier than this
    private const double PeakAgain = 1.02;      // the live speed wavers: only so much more than the peak is another push
    private long _ordinal = -1;
    private LockSeen _lock;
    private bool _isOpen;
    private bool _wasSteady;
    private long _firstPulse;
    private long _firstTicks;
    private int _runLock;
    private double _peak;
    private long _peakTicks;
    private double _peakTurns;
    private double _turns;
    private double _slowest;
    private long _slowestPulse;
    private double _lastSpeed;
    private long _lastMarkTicks;

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
        if (pulse.Kind != PulseKind.Mark)
            return;
        if (tracker.LockNumber != _lock.Number)
            _lock = new LockSeen(tracker.LockNumber, _ordinal, pulse.Ticks, Math.Min(tracker.LockStartTurnsPerS, tracker.SpeedTurnsPerS));
        _lock = _lock.With(tracker.SpeedTurnsPerS, pulse.Ticks);
        if (!_isOpen)
        {
            if (IsLaunch(tracker) || IsSpinningAlready(tracker, pulse.Ticks))
                Begin(tracker, found);
            return;
        }

        if (tracker.LockNumber != _runLock)
        {
            if (!IsLaunch(tracker))
                return;
            Close(SeemsStopped ? RunEnd.Stopped : RunEnd.SignalLost, _lock.FirstPulse - 1, found);
            Begin(tracker, found);
            return;
        }

        Go(pulse, tracker, found);
    }

    /// <summary>Tells how late it is.</summary>
    /// <param name="nowTicks">The source's ticks now, foretold where it is silent.</param>
    /// <param name="linkUp">Whether the link to the source is there.</param>
    /// <param name="found">Receives what follows from it.</param>
    public void PassTime(long nowTicks, bool linkUp, List<RunTransition> found)
    {
        double silent = (nowTicks - _lastMarkTicks) / rules.TickHz;
        if (!_isOpen)
        {
            if (_lock.Marks > 0 && (nowTicks - _lock.LastTicks) / rules.TickHz > 5)
                _lock = _lock with { Marks = 0 };
            return;
        }

        if (Phase is RunPhase.Launching or RunPhase.Spinning && silent > Math.Max(1, 4 / Math.Max(_lastSpeed, 0.1)))
        {
            Phase = RunPhase.Lost;
            found.Add(Transition(RunTransitionKind.Lost, _lastMarkTicks));
        }

        if (Phase != RunPhase.Lost)
            return;
        bool stopped = SeemsStopped && linkUp;
        if (silent > (stopped ? rules.StopWaitS : rules.LostWaitS))
            Close(stopped ? RunEnd.Stopped : linkUp ? RunEnd.SignalLost : RunEnd.SourceLost, _ordinal, found);
    }

    /// <summary>Ends a run that is under way at the user's word.</summary>
    public void EndByHand(List<RunTransition> found)
    {
        if (_isOpen)
            Close(RunEnd.Operator, _ordinal, found);
    }

    private bool SeemsStopped => _lastSpeed < Math.Max(rules.StopBelowTurnsPerS, 0.25 * _peak);

    private bool IsLaunch(MarkTracker tracker) =>
        tracker.SpeedTurnsPerS > SpeedUp * _lock.Slowest && tracker.Turns >= 4 && tracker.Scatter < LooseScatter
        && tracker.SpeedTurnsPerS > rules.LeastLaunchTurnsPerS;

    // The capture came late and the body already spins: it slows, clearly and by more than mains light ever wanders.
    private bool IsSpinningAlready(MarkTracker tracker, long ticks) =>
        tracker.Turns >= 20 && tracker.Scatter < SteadyScatter && (ticks - _lock.FirstTicks) / rules.TickHz > 5
        && tracker.SpeedTurnsPerS < 0.98 * _lock.Fastest
        && tracker.AccelerationTurnsPerS2 < -6 * tracker.UAccelerationTurnsPerS2;

    private void Begin(MarkTracker tracker, List<RunTransition> found)
    {
        _isOpen = true;
        _wasSteady = false;
        _firstPulse = _lock.FirstPulse;
        _firstTicks = _lock.FirstTicks;
        _runLock = tracker.LockNumber;
        _peak = tracker.SpeedTurnsPerS;
        _peakTicks = tracker.LastMarkTicks;
        _peakTurns = tracker.Turns;
        Phase = RunPhase.Launching;
        Note(tracker);
        found.Add(Transition(RunTransitionKind.Began, _firstTicks));
    }

    private void Note(MarkTracker tracker)
    {
        _turns = tracker.Turns;
        _lastSpeed = tracker.SpeedTurnsPerS;
        _lastMarkTicks = tracker.LastMarkTicks;
    }

    private void Go(in JudgedPulse pulse, MarkTracker tracker, List<RunTransition> found)
    {
        Note(tracker);
        if (Phase == RunPhase.Lost)
        {
            Phase = RunPhase.Spinning;
            found.Add(Transition(RunTransitionKind.Back, pulse.Ticks));
        }

        double sincePeak = (pulse.Ticks - _peakTicks) / rules.TickHz;
        bool faster = Phase == RunPhase.Launching ? _lastSpeed > _peak : sincePeak < PushAgainS && _lastSpeed > PeakAgain * _peak;
        if (faster)
        {
            (_peak, _peakTicks, _peakTurns) = (_lastSpeed, pulse.Ticks, _turns);
            Phase = RunPhase.Launching;
        }
        else if (Phase == RunPhase.Launching && _turns - _peakTurns >= 3 && sincePeak > 0.5)
        {
            Phase = RunPhase.Spinning;
            (_slowest, _slowestPulse) = (_lastSpeed, _ordinal);
            found.Add(Transition(RunTransitionKind.Released, _peakTicks));
        }
        else if (Phase == RunPhase.Spinning)
        {
            _wasSteady |= tracker.Scatter < SteadyScatter;
            WatchForHand(tracker, found);
        }
    }

    // A body does not speed up by itself: a hand took it up again without stopping it, and that is another run.
    private void WatchForHand(MarkTracker tracker, List<RunTransition> found)
    {
        if (_slowest <= 0 || _lastSpeed < _slowest)
            (_slowest, _slowestPulse) = (_lastSpeed, _ordinal);
        if (_lastSpeed < SpeedUp * _slowest || _ordinal - _slowestPulse < 5)
            return;
        long last = _slowestPulse;
        Close(RunEnd.Operator, last, found);
        _lock = _lock with { FirstPulse = last + 1, FirstTicks = _lastMarkTicks, Slowest = _slowest };
        Begin(tracker, found);
    }

    private void Close(RunEnd end, long lastPulse, List<RunTransition> found)
    {
        bool isRun = _wasSteady && _turns >= rules.LeastTurns && (_lastMarkTicks - _firstTicks) / rules.TickHz >= rules.LeastS;
        found.Add(new RunTransition(
            isRun ? RunTransitionKind.Ended : RunTransitionKind.Dismissed, _firstPulse, lastPulse, _lastMarkTicks, end));
        _isOpen = false;
        _slowest = 0;
        Phase = RunPhase.Waiting;
        _lock = _lock with { Marks = 0 };
    }

    private RunTransition Transition(RunTransitionKind kind, long ticks) =>
        new(kind, _firstPulse, _ordinal, ticks, RunEnd.None);

    private readonly record struct LockSeen(int Number, long FirstPulse, long FirstTicks, double Slowest)
    {
        public double Fastest { get; init; } = Slowest;

        public long Marks { get; init; }

        public long LastTicks { get; init; } = FirstTicks;

        public LockSeen With(double speed, long ticks) => this with
        {
            Slowest = Math.Min(Slowest, speed),
            Fastest = Math.Max(Fastest, speed),
            Marks = Marks + 1,
            LastTicks = ticks,
        };
    }
}
