using Acquire.Acquisition;
using Acquire.Acquisition.Clock;
using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Service.Forecasting;

namespace Acquire.Service.Capture;

/// <summary>What is made of the blocks while they come: events, marks, speed, phases. Not safe for use from several threads.</summary>
internal sealed class LiveChain
{
    private const double ULineS = 5e-4; // a pulse's line is shorter than a status line: once a body spins, lines come by some ten bytes earlier
    private const double MostAgeS = 0.2; // an older speed is not shown once a newer mark may have come: with the display's own steps half a second
    private const int ReleaseTurns = 8;
    private const long LampLastsNs = 1_000_000_000; // a lamp without a flash for so long is out
    private const long ClockEveryNs = 10_000_000_000;
    private readonly RunSettings _settings;
    private readonly List<SourceEvent> _events = [];
    private readonly List<JudgedPulse> _judged = [];
    private MarkTracker _tracker = null!;
    private LiveSpeed _speed = null!;
    private RunDetector _detector = null!;
    private ClockFit _clock = null!;
    private double _tickHz;
    private double _rate;
    private double _uRate = ClockEstimate.UnknownPpm * 1e-6;
    private long _rateAtNs;
    private long _pulseTicks;
    private int _lock = -1;
    private Tally _tally;
    private double _released; // turns a second; 0 while that is not known
    private int _marksToRelease;
    private SpinHistory _history = null!;

    public LiveChain(ISourceDecoder decoder, RunSettings settings)
    {
        Decoder = decoder;
        _settings = settings;
        Rebuild();
    }

    /// <summary>The decoder.</summary>
    public ISourceDecoder Decoder { get; }

    /// <summary>Pulses decoded so far.</summary>
    public long Pulses { get; private set; }

    /// <summary>Whether the link to the source is there.</summary>
    public bool LinkUp { get; private set; }

    /// <summary>Host time of the last sign of life; 0 before the first.</summary>
    public long LastHeardNs { get; private set; }

    /// <summary>Host time of the last pulse; 0 before the first.</summary>
    public long LastPulseNs { get; private set; }

    /// <summary>True while a run is under way or something may become one.</summary>
    public bool IsBusy => _detector.IsBusy;

    /// <summary>Ordinal of the first pulse of the run under way; −1 where there is none.</summary>
    public long FirstPulse => _detector.FirstPulse;

    /// <summary>The phase.</summary>
    public RunPhase Phase => _detector.Phase;

    private long LastTicks { get; set; }

    /// <summary>Takes a block and adds what follows from it to <paramref name="found"/>.</summary>
    public void Take(in SourceBlock block, List<RunTransition> found)
    {
        _events.Clear();
        Decoder.Decode(block, _events);
        Take(found);
    }

    /// <summary>Takes what waited for a block that will not come.</summary>
    public void Finish(List<RunTransition> found)
    {
        _events.Clear();
        Decoder.Finish(_events);
        Take(found);
    }

    private void Take(List<RunTransition> found)
    {
        foreach (SourceEvent e in _events)
        {
            switch (e.Kind)
            {
                case SourceEventKind.Pulse:
                    TakePulse(e, found);
                    break;
                case SourceEventKind.Status:
                    _clock.AddOneWay(e.Pulse.Ticks, e.HostNs);
                    Heard(e);

                    // By the source's own time too, so that what is decided does not hang on how late the blocks are taken.
                    PassTime(e.HostNs, found);
                    break;
                case SourceEventKind.TimeAnswer:
                    _clock.AddTwoWay(e.AskedNs, e.Pulse.Ticks, e.HostNs);
                    Heard(e);
                    break;
                case SourceEventKind.BoardNamed when Decoder.TickHz != _tickHz:
                    Rebuild();
                    break;
                case SourceEventKind.BoardRestarted:
                    _clock.Reset();
                    break;
                case SourceEventKind.LinkBack:
                    LinkUp = true;
                    break;
                case SourceEventKind.LinkLost:
                    PassTime(e.HostNs, found);
                    LinkUp = false;
                    break;
            }
        }
    }

    /// <summary>Tells how late it is, once all blocks that came before have been taken.</summary>
    public void PassTime(long hostNs, List<RunTransition> found)
    {
        if (LastHeardNs == 0)
            return;
        _detector.PassTime(TicksAt(hostNs), LinkUp, found);
        ForgetWhatEnded(found);
        if (hostNs - _rateAtNs > ClockEveryNs)
        {
            FindRate();
            _rateAtNs = hostNs;
        }
    }

    private void FindRate()
    {
        if (Decoder.IsHostClock)
        {
            (_rate, _uRate) = (0, 0);
            return;
        }

        ClockEstimate clock = _clock.Estimate();
        (double ratePpm, double uRatePpm) = _settings.Rate(clock);
        (_rate, _uRate) = (ratePpm * 1e-6, double.Hypot(uRatePpm * 1e-6, ULineS / Math.Max(clock.WindowS, 1)));
    }

    /// <summary>Tells that the capture was cut short after what it took last; the link is not there until the source says so.</summary>
    public void Interrupt() => LinkUp = false;

    /// <summary>Whether a launch is a run by itself.</summary>
    public bool IsAutomatic
    {
        get;
        set => field = _detector.IsAutomatic = value;
    } = true;

    /// <summary>Takes what turns now for a run at the user's word; nothing where a run is under way or nothing turns.</summary>
    public void StartByHand(List<RunTransition> found) => _detector.StartByHand(_tracker, found);

    /// <summary>Ends the run under way at the user's word.</summary>
    public void EndByHand(List<RunTransition> found)
    {
        _detector.EndByHand(found);
        if (found.Count > 0)
            _history.End();
        ForgetWhatEnded(found);
    }

    /// <summary>A copy of the spin under way, for a forecast; null where there is none.</summary>
    public SpinSoFar? SoFar() => _history.Copy(_rate, _uRate);

    /// <summary>How things stand.</summary>
    public LiveState Look(long hostNs)
    {
        double ageS = (_pulseTicks - _tracker.LastMarkTicks) / _tickHz;
        bool spins = _detector.Phase is RunPhase.Launching or RunPhase.Spinning && (ageS <= MostAgeS || !IsMarkDue(ageS));
        bool free = _detector.Phase == RunPhase.Spinning;
        (double speed, double uSpeed, double acceleration) = free
            ? _speed.At(_tracker)
            : (_tracker.SpeedTurnsPerS, _tracker.USpeedTurnsPerS, _tracker.AccelerationTurnsPerS2);
        double rpm = speed * (1 + _rate) * 60;
        return new LiveState
        {
            Phase = _detector.Phase,
            IsAutomatic = IsAutomatic,
            CanStart = _detector.CanStart,
            Rpm = spins ? rpm : double.NaN,
            URpm = spins ? double.Hypot(uSpeed * 60, rpm * _uRate) : double.NaN,
            SpeedAgeS = spins ? ageS : double.NaN,
            DecelRpmPerS = free ? -acceleration * 60 : double.NaN,
            SinceReleaseS = _detector.SinceReleaseS(TicksAt(hostNs)) / (1 + _rate),
            PeakRpm = (_released > 0 && _detector.Phase is RunPhase.Spinning or RunPhase.Lost ? _released : _detector.PeakTurnsPerS) * (1 + _rate) * 60,
            Turns = _detector.FirstPulse >= 0 ? _tracker.Turns : 0,
            Marks = _tally.Marks,
            Missed = _detector.FirstPulse >= 0 ? _tracker.Missed - _tally.MissedBefore : 0,
            Extra = _tally.Extra,
            SignalQuality = spins ? _tracker.Quality : double.NaN,
            LampHz = _detector.Phase == RunPhase.Waiting && hostNs - LastPulseNs < LampLastsNs ? _tracker.LampHz * (1 + _rate) : double.NaN,
            Counts = Decoder.Counts,
            LinkUp = LinkUp,
            LastHeardNs = LastHeardNs,
            LastPulseNs = LastPulseNs,
        };
    }

    // Whether the last pulse may have been a mark that was not taken for one, or not yet.
    private bool IsMarkDue(double ageS) => !_tracker.IsLocked || ageS * _tracker.SpeedTurnsPerS * _settings.Marks > 0.75;

    private long TicksAt(long hostNs) => LastTicks + (long)((hostNs - LastHeardNs) * 1e-9 * _tickHz);

    private void Heard(in SourceEvent e)
    {
        LastTicks = e.Pulse.Ticks;
        LastHeardNs = e.HostNs;
    }

    private void TakePulse(in SourceEvent e, List<RunTransition> found)
    {
        Pulses++;
        Heard(e);
        LastPulseNs = e.HostNs;
        _pulseTicks = e.Pulse.Ticks;
        _clock.AddOneWay(e.Pulse.Ticks + e.Pulse.WidthTicks, e.HostNs); // the line leaves after the trailing edge
        _judged.Clear();
        _detector.Hear(e.Pulse.Ticks);
        _tracker.Add(e.Pulse, _judged);
        if (_tracker.LockNumber != _lock)
        {
            _lock = _tracker.LockNumber;
            _tally = new Tally(0, 0, _tracker.Missed);
            _speed.Reset();
        }

        for (int i = 0; i < _judged.Count; i++)
        {
            JudgedPulse pulse = _judged[i];
            _tally = _tally.With(pulse.Kind);
            _speed.See(pulse, _tracker);
            int before = found.Count;
            _detector.See(pulse, _tracker, found);
            if (found.Count > before)
                _speed.Restart(); // released, back or begun: what the marks before say is no longer so
            SeeRelease(pulse, found.Count > before ? found[^1].Kind : null);
            SeeHistory(pulse, found.Count > before ? found[^1] : null);
        }

        ForgetWhatEnded(found);
    }

    // The tracker overshoots while a hand drives the body; some turns later its speed is known far better and has hardly changed.
    private void SeeRelease(in JudgedPulse pulse, RunTransitionKind? found)
    {
        if (found is RunTransitionKind.Began or RunTransitionKind.Released)
            (_released, _marksToRelease) = (0, ReleaseTurns * _settings.Marks);
        else if (pulse.Kind == PulseKind.Mark && _detector.Phase == RunPhase.Spinning && _marksToRelease > 0 && --_marksToRelease == 0)
            _released = _speed.At(_tracker).TurnsPerS;
    }

    private void SeeHistory(in JudgedPulse pulse, RunTransition? found)
    {
        if (found is { Kind: RunTransitionKind.Released } released)
            _history.Begin(released.Ticks);
        else if (found is { Kind: RunTransitionKind.Began or RunTransitionKind.Ended or RunTransitionKind.Dismissed })
            _history.End();
        _history.See(pulse, _tracker.LockNumber);
    }

    // After an end the next lock is another spin, however much it resembles the last; unless it has begun already.
    private void ForgetWhatEnded(List<RunTransition> found)
    {
        if (found.Count > 0 && found[^1].Kind is RunTransitionKind.Ended or RunTransitionKind.Dismissed)
            _tracker.Forget();
    }

    private void Rebuild()
    {
        _tickHz = Decoder.TickHz;
        _tracker = new MarkTracker(_settings.Tracker(_tickHz));
        _speed = new LiveSpeed(_tickHz, _settings.Marks);
        _detector = new RunDetector(_settings.Rules(_tickHz)) { IsAutomatic = IsAutomatic };
        _clock = new ClockFit(_tickHz);
        _history = new SpinHistory(_tickHz);
        _lock = -1;
        if (Decoder.IsHostClock)
            FindRate();
    }

    private readonly record struct Tally(long Marks, long Extra, long MissedBefore)
    {
        public Tally With(PulseKind kind) =>
            kind == PulseKind.Mark ? this with { Marks = Marks + 1 } : this with { Extra = Extra + 1 };
    }
}
