using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>What is known of the run under way: its bounds, its peak, where it stands, and how its body slows.</summary>
internal sealed class OpenRun(RunRules rules)
{
    private const double FallenShare = 0.4; // of the speed below which a spin may end: a body as slow as that has fallen
    private const double LightS = 10;       // a body that slows keeps to the beat of light for some seconds at most
    private const double LightShare = 0.6;
    private const int LooksToSettle = 4;    // a lock to light out of a launch takes a while to find its speed
    private const double LightDrift = 0.004; // twice as much as the mains stray
    private readonly BodyCourse _course = new(rules.TickHz);
    private double _mostOtherwise;          // where the course does not tell yet
    private double _turnsBefore;
    private double _peakTurns;
    private bool _wasSteady;
    private double _held;                   // the highest speed that was held over two steps of the course
    private double _stepBefore;
    private (int Looks, int Light) _light;
    private double _lightSpeed;             // of the course, when a few of those had been light
    private double _glimpsed = double.PositiveInfinity; // speed since the last mark, by pulses too few to lock to

    /// <summary>The phase.</summary>
    public RunPhase Phase { get; set; } = RunPhase.Waiting;

    /// <summary>Ordinal of the first pulse.</summary>
    public long FirstPulse { get; private set; }

    /// <summary>Ticks of the first mark.</summary>
    public long FirstTicks { get; private set; }

    /// <summary>The tracker's number of the lock that is the run's.</summary>
    public int Lock { get; private set; }

    /// <summary>The highest speed, turns a second.</summary>
    public double PeakTurnsPerS { get; private set; }

    /// <summary>Ticks of that.</summary>
    public long PeakTicks { get; private set; }

    /// <summary>Speed at the last mark, turns a second.</summary>
    public double SpeedTurnsPerS { get; private set; }

    /// <summary>Ticks of the last mark.</summary>
    public long LastMarkTicks { get; private set; }

    /// <summary>Turns so far.</summary>
    public double Turns { get; private set; }

    /// <summary>Mean speed over the last step of the course, turns a second.</summary>
    public double CourseTurnsPerS => _course.LastTurnsPerS;

    /// <summary>True once there are speeds enough to tell how it slows.</summary>
    public bool IsCourseKnown => _course.IsKnown;

    /// <summary>True where the marks ceased at a speed at which a spin may end, by what went before: the last few speeds may be those of
    /// the fall.</summary>
    public bool SeemsStopped =>
        Math.Min(Math.Min(_glimpsed, SpeedTurnsPerS), Math.Min(Foretold(LastMarkTicks).Most, _course.SpeedAt(LastMarkTicks, SpeedTurnsPerS)))
            < MayEndBelowTurnsPerS;

    /// <summary>Below this the spin may end by itself, turns a second. The peak is that of the course, where there is one: the live speed
    /// overshoots in a launch.</summary>
    public double MayEndBelowTurnsPerS => rules.MayEndBelow(_held > 0 ? Math.Min(_held, PeakTurnsPerS) : PeakTurnsPerS);

    /// <summary>True where it was long enough for a run.</summary>
    public bool IsRun =>
        _wasSteady && !IsLight && Turns >= rules.LeastTurns && (LastMarkTicks - FirstTicks) / rules.TickHz >= rules.LeastS;

    /// <summary>True some turns after the peak: the hand has let go.</summary>
    public bool IsReleased(long ticks) => Turns - _peakTurns >= 3 && SincePeakS(ticks) > 0.5;

    /// <summary>Seconds since the peak.</summary>
    public double SincePeakS(long ticks) => (ticks - PeakTicks) / rules.TickHz;

    /// <summary>The speeds between which the body must be if it was left to itself, turns a second.</summary>
    public (double Least, double Most) Foretold(long ticks) => _course.Foretold(ticks, _mostOtherwise);

    /// <summary>Seconds in which a body that spins on has surely become too slow to stand.</summary>
    public double FallsInS() =>
        _course.FallsInS(Math.Min(0.6, FallenShare * rules.StopBelowTurnsPerS / Math.Max(SpeedTurnsPerS, 0.1)));

    /// <summary>Begins it with a lock.</summary>
    public void Begin(long firstPulse, LockWatch watch, MarkTracker tracker)
    {
        (FirstPulse, FirstTicks) = (firstPulse, watch.FirstTicks);
        (_wasSteady, _held, _stepBefore, _light, _lightSpeed) = (false, 0, 0, (0, 0), double.PositiveInfinity);
        Lock = tracker.LockNumber;
        _turnsBefore = watch.Turns(tracker) - tracker.Turns;
        Drive(tracker);
    }

    /// <summary>Takes the lock for the run's, and the body for driven by a hand.</summary>
    public void Drive(MarkTracker tracker)
    {
        Adopt(tracker);
        Phase = RunPhase.Launching;
        Note(tracker);
        NotePeak();
    }

    /// <summary>Takes the lock for the run's and the body for free, as before.</summary>
    /// <param name="tracker">The tracker.</param>
    /// <param name="speedTurnsPerS">Its speed, where the course begins anew.</param>
    /// <param name="anew">Whether what went before says little of how it slows now.</param>
    public void Resume(MarkTracker tracker, double speedTurnsPerS, bool anew)
    {
        Adopt(tracker);
        _course.Break();
        Note(tracker);
        if (!anew)
            return;
        _course.Begin(LastMarkTicks);
        _mostOtherwise = speedTurnsPerS;
    }

    /// <summary>Takes the tracker's last mark.</summary>
    public void Note(MarkTracker tracker)
    {
        Turns = _turnsBefore + tracker.Turns;
        SpeedTurnsPerS = tracker.SpeedTurnsPerS;
        LastMarkTicks = tracker.LastMarkTicks;
        _glimpsed = double.PositiveInfinity;
        _wasSteady |= Phase == RunPhase.Spinning && tracker.Scatter < LockWatch.SteadyScatter;
    }

    /// <summary>Takes pulses that came as marks of the body would, too few to lock to.</summary>
    public void NoteGlimpse(double speedTurnsPerS) => _glimpsed = speedTurnsPerS;

    /// <summary>Takes the last mark for the peak so far: until now the body was driven.</summary>
    public void NotePeak()
    {
        (PeakTurnsPerS, PeakTicks, _peakTurns) = (SpeedTurnsPerS, LastMarkTicks, Turns);
        _course.Begin(LastMarkTicks);
        _mostOtherwise = PeakTurnsPerS;
    }

    private void Adopt(MarkTracker tracker)
    {
        if (tracker.LockNumber != Lock)
            _turnsBefore = Turns;
        Lock = tracker.LockNumber;
    }

    /// <summary>Adds the last mark to the course. True where <see cref="CourseTurnsPerS"/> is new.</summary>
    public bool AddToCourse(MarkTracker tracker)
    {
        if (!_course.Add(LastMarkTicks, tracker.Turns, tracker.LockNumber))
            return false;
        _held = Math.Max(_held, Math.Min(_stepBefore, CourseTurnsPerS));
        _stepBefore = CourseTurnsPerS;
        return true;
    }

    /// <summary>Takes the last speed out of the course again.</summary>
    public void DropFromCourse() => _course.Drop();

    /// <summary>Begins the course anew: what went before says little of how it slows now.</summary>
    public void BeginCourse(MarkTracker tracker)
    {
        _course.Begin(LastMarkTicks);
        _mostOtherwise = tracker.SpeedTurnsPerS;
    }

    /// <summary>Takes a look at whether the marks beat as light of a lamp does: where they do so most of the time, it is no run.</summary>
    public void LookForLight(bool beats)
    {
        _light = (_light.Looks + 1, _light.Light + (beats ? 1 : 0));
        if (_light.Light == LooksToSettle)
            _lightSpeed = CourseTurnsPerS;
    }

    // A body may spin near the beat of light for many minutes, but it slows; the mains do not.
    private bool IsLight =>
        (LastMarkTicks - FirstTicks) / rules.TickHz > LightS && _light.Light > LightShare * _light.Looks && !(CourseTurnsPerS < (1 - LightDrift) * Math.Min(_held, _lightSpeed));
}
