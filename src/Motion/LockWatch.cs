using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>What was seen of a lock, or of a body since its marks came back: whether a hand launches it, or it spins freely already.</summary>
/// <remarks>Speeds are those of the marks themselves, from one to a few later: a tracker that has just locked takes a while to settle.</remarks>
internal sealed class LockWatch
{
    private const double LooseScatter = 0.12;   // of the spacing: more than this and the pulses are as good as random
    private const int Kept = 8;
    private const int Intervals = 3;
    private readonly long[] _ticks = new long[Kept];
    private readonly double[] _turns = new double[Kept];
    private readonly double _tickHz;
    private double _slowest = double.PositiveInfinity;
    private double _fastest;
    private double _speed;
    private double _speedBefore;
    private readonly double _firstTurns;

    /// <summary>Begins to watch; the first mark is shown next.</summary>
    /// <param name="number">The tracker's number of the lock.</param>
    /// <param name="ordinal">Ordinal of the first mark.</param>
    /// <param name="pulse">The first mark.</param>
    /// <param name="before">What was watched just before, where the lock broke at an instant of the same launch; else null.</param>
    /// <param name="tickHz">Nominal ticks a second.</param>
    public LockWatch(int number, long ordinal, in JudgedPulse pulse, LockWatch? before, double tickHz)
    {
        Number = number;
        FirstPulse = before?.FirstPulse ?? ordinal;
        FirstTicks = before?.FirstTicks ?? pulse.Ticks;
        _slowest = before?._slowest ?? double.PositiveInfinity;
        _firstTurns = pulse.Turns;
        _tickHz = tickHz;
    }

    /// <summary>A body steadier than this, in spacings of marks, spins freely.</summary>
    public const double SteadyScatter = 0.06;

    /// <summary>The tracker's number of the lock.</summary>
    public int Number { get; }

    /// <summary>Ordinal of its first mark.</summary>
    public long FirstPulse { get; }

    /// <summary>Ticks of its first mark.</summary>
    public long FirstTicks { get; }

    /// <summary>Ticks of its last mark so far.</summary>
    public long LastTicks { get; private set; }

    /// <summary>Marks so far.</summary>
    public int Marks { get; private set; }

    /// <summary>Speed over the last few marks, turns a second.</summary>
    public double SpeedTurnsPerS => _speed;

    /// <summary>Takes a mark.</summary>
    public void See(in JudgedPulse pulse)
    {
        int at = Marks % Kept;
        _ticks[at] = pulse.Ticks;
        _turns[at] = pulse.Turns;
        LastTicks = pulse.Ticks;
        Marks++;
        if (Marks == 2)
            _slowest = Math.Min(_slowest, Over(1));
        if (Marks > 2)
            _slowest = Math.Min(_slowest, Over(2));
        if (Marks <= Intervals)
            return;
        (_speedBefore, _speed) = (_speed, Over(Intervals));
        _fastest = Math.Max(_fastest, Math.Min(_speed, _speedBefore));
    }

    /// <summary>Turns seen so far.</summary>
    public double Turns(MarkTracker tracker) => tracker.Turns - _firstTurns;

    /// <summary>True where a hand drives it.</summary>
    public bool IsLaunch(MarkTracker tracker, double leastTurnsPerS, double speedUp) =>
        Marks > Intervals + 1 && Turns(tracker) >= 3 && tracker.Scatter < LooseScatter
        && Math.Min(_speed, _speedBefore) > Math.Max(speedUp * _slowest, leastTurnsPerS);

    /// <summary>True where it has shown that it spins freely: it slows, clearly and by more than mains light ever wanders.</summary>
    public bool IsSpinningAlready(MarkTracker tracker) =>
        Turns(tracker) >= 20 && tracker.Scatter < SteadyScatter && (LastTicks - FirstTicks) / _tickHz > 5
        && tracker.SpeedTurnsPerS < 0.98 * _fastest
        && tracker.AccelerationTurnsPerS2 < -6 * tracker.UAccelerationTurnsPerS2;

    /// <summary>True where it is steady and does not speed up.</summary>
    public bool IsFree(MarkTracker tracker) =>
        Marks >= Kept && Turns(tracker) >= 3 && tracker.Scatter < LooseScatter && Math.Abs(Over(Intervals) - Over(Intervals, Intervals + 1)) < 0.15 * _speed;

    private double Over(int intervals, int ago = 0)
    {
        int last = (Marks - 1 - ago) % Kept;
        int first = (Marks - 1 - ago - intervals) % Kept;
        return (_turns[last] - _turns[first]) / Math.Max(_ticks[last] - _ticks[first], 1) * _tickHz;
    }
}
