using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>What was seen of a lock, or of a body since its marks came back: whether a hand launches it, or it spins freely already.</summary>
internal record struct LockWatch
{
    private const double SpeedUp = 1.3;         // a launch multiplies the speed of its lock at least so much
    private const double LooseScatter = 0.12;   // of the spacing: more than this and the pulses are as good as random
    private const int LeastMarks = 6;           // a lock's first speeds waver
    private double _slowest;
    private double _fastest;
    private double _firstTurns;

    /// <summary>The tracker's number of the lock.</summary>
    public int Number { get; private init; }

    /// <summary>Ordinal of its first mark.</summary>
    public long FirstPulse { get; private init; }

    /// <summary>Ticks of its first mark.</summary>
    public long FirstTicks { get; private init; }

    /// <summary>Ticks of its last mark so far.</summary>
    public long LastTicks { get; private set; }

    /// <summary>Marks so far; 0 where there is nothing to watch.</summary>
    public long Marks { get; private set; }

    /// <summary>A body steadier than this, in spacings of marks, spins freely.</summary>
    public const double SteadyScatter = 0.06;

    /// <summary>Begins with the mark that the tracker has just taken.</summary>
    public static LockWatch Begin(MarkTracker tracker, long ordinal, long ticks, bool fresh)
    {
        double speed = tracker.SpeedTurnsPerS;
        double slowest = fresh ? Math.Min(tracker.LockStartTurnsPerS, speed) : speed;
        return new LockWatch
        {
            Number = tracker.LockNumber,
            FirstPulse = ordinal,
            FirstTicks = ticks,
            LastTicks = ticks,
            _slowest = slowest,
            _fastest = speed,
            _firstTurns = fresh ? 0 : tracker.Turns,
        };
    }

    /// <summary>The same, where the lock before broke at an instant of the same launch.</summary>
    public readonly LockWatch After(LockWatch before) => this with
    {
        FirstPulse = before.FirstPulse,
        FirstTicks = before.FirstTicks,
        _slowest = Math.Min(_slowest, before._slowest),
        _fastest = Math.Max(_fastest, before._fastest),
    };

    /// <summary>Takes a mark.</summary>
    public void See(MarkTracker tracker, long ticks)
    {
        _slowest = Math.Min(_slowest, tracker.SpeedTurnsPerS);
        _fastest = Math.Max(_fastest, tracker.SpeedTurnsPerS);
        LastTicks = ticks;
        Marks++;
    }

    /// <summary>Forgets it.</summary>
    public void Clear() => Marks = 0;

    /// <summary>Turns seen so far.</summary>
    public readonly double Turns(MarkTracker tracker) => tracker.Turns - _firstTurns;

    /// <summary>True where a hand drives it.</summary>
    public readonly bool IsLaunch(MarkTracker tracker, double leastTurnsPerS) =>
        tracker.SpeedTurnsPerS > SpeedUp * _slowest && Turns(tracker) >= 4 && Marks >= LeastMarks && tracker.Scatter < LooseScatter
        && tracker.SpeedTurnsPerS > leastTurnsPerS;

    /// <summary>True where it has shown that it spins freely: it slows, clearly and by more than mains light ever wanders.</summary>
    public readonly bool IsSpinningAlready(MarkTracker tracker, double tickHz) =>
        Turns(tracker) >= 20 && tracker.Scatter < SteadyScatter && (LastTicks - FirstTicks) / tickHz > 5
        && tracker.SpeedTurnsPerS < 0.98 * _fastest
        && tracker.AccelerationTurnsPerS2 < -6 * tracker.UAccelerationTurnsPerS2;

    /// <summary>True where it is steady and does not speed up.</summary>
    public readonly bool IsFree(MarkTracker tracker) =>
        Turns(tracker) >= 3 && tracker.Scatter < LooseScatter && tracker.SpeedTurnsPerS < 1.1 * _slowest;
}
