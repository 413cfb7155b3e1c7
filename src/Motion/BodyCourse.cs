namespace Acquire.Motion;

/// <summary>How a body has slowed of late and what that lets expect: its speed once marks have ceased, as a range, and when it has slowed
/// to a part of what it was. Robust: a fall that bends the last few speeds, or a few that are wrong, change little.</summary>
/// <remarks>The slope of ln v in time is the median of the slopes between all pairs: Sen, J. Am. Stat. Assoc. 63 (1968), from memory.
/// Every loss law here is a sum of powers of the speed from 0 to 2, so that the speed falls no faster than along a straight line and no
/// slower than along the hyperbola of the power 2.</remarks>
internal sealed class BodyCourse(double tickHz)
{
    private const int Kept = 24;
    private const int LeastKept = 6;
    private const double ShortestStepS = 0.5;
    private const double StepsPerAge = 240;   // the speeds kept reach back over a tenth of the spin
    private const double LawSlack = 0.1;      // of the rate of slowing: it is that of the past, not of now
    private const double SpeedSlack = 0.05;   // of the speed: wobble and the fit of a fresh lock
    private readonly double[] _timeS = new double[Kept];
    private readonly double[] _logSpeed = new double[Kept];
    private readonly double[] _work = new double[Kept * (Kept - 1) / 2];
    private int _count;
    private bool _isFitted;
    private double _level;
    private double _rate;
    private double _uRate;
    private long _beginTicks;
    private long _anchorTicks;
    private double _anchorTurns;
    private int _anchorLock = -1;

    /// <summary>Mean speed over the last step, turns a second; NaN before the first.</summary>
    public double LastTurnsPerS => _count == 0 ? double.NaN : Math.Exp(_logSpeed[_count - 1]);

    /// <summary>True once there are speeds enough to tell how it slows.</summary>
    public bool IsKnown => _count >= LeastKept;

    /// <summary>Forgets all: the body was driven until now.</summary>
    public void Begin(long ticks)
    {
        _count = 0;
        _isFitted = false;
        _beginTicks = ticks;
        _anchorLock = -1;
    }

    /// <summary>Takes a mark. True where it completed a step and <see cref="LastTurnsPerS"/> is new.</summary>
    public bool Add(long ticks, double turns, int lockNumber)
    {
        if (lockNumber != _anchorLock)
        {
            Anchor(ticks, turns, lockNumber);
            return false;
        }

        double dt = (ticks - _anchorTicks) / tickHz;
        double stepS = Math.Max(ShortestStepS, (ticks - _beginTicks) / tickHz / StepsPerAge);
        if (dt < stepS || turns - _anchorTurns < 1)
            return false;
        if (_count == Kept)
        {
            Array.Copy(_timeS, 1, _timeS, 0, Kept - 1);
            Array.Copy(_logSpeed, 1, _logSpeed, 0, Kept - 1);
            _count--;
        }

        _timeS[_count] = ((ticks - _beginTicks) / tickHz) - (dt / 2);
        _logSpeed[_count++] = Math.Log((turns - _anchorTurns) / dt);
        _isFitted = false;
        Anchor(ticks, turns, lockNumber);
        return true;
    }

    /// <summary>Takes the last speed out again: the tracker was wrong about it. <see cref="LastTurnsPerS"/> goes back too.</summary>
    public void Drop()
    {
        _count = Math.Max(0, _count - 1);
        _isFitted = false;
    }

    /// <summary>Marks were away: the next step begins with the next mark.</summary>
    public void Break() => _anchorLock = -1;

    /// <summary>The speeds between which a free body must be, turns a second; the upper is <paramref name="otherwise"/> while little is
    /// known.</summary>
    public (double Least, double Most) Foretold(long ticks, double otherwise)
    {
        if (!IsKnown)
            return (0, otherwise * (1 + SpeedSlack));
        Fit();
        double dt = Math.Max(0, ((ticks - _beginTicks) / tickHz) - _timeS[_count - 1]);
        double speed = Math.Exp(_level);
        double fast = (((1 + LawSlack) * _rate) + (2 * _uRate)) * FromMiddle;
        return ((1 - SpeedSlack) * speed * Math.Max(0, 1 - (fast * dt)), (1 + SpeedSlack) * speed / (1 + (SlowRate * dt)));
    }

    /// <summary>The speed that the fit gives at a moment, turns a second.</summary>
    public double SpeedAt(long ticks, double otherwise)
    {
        if (!IsKnown)
            return otherwise;
        Fit();
        double dt = ((ticks - _beginTicks) / tickHz) - _timeS[_count - 1];
        return Math.Exp(_level - (_rate * dt));
    }

    /// <summary>Seconds in which even the slowest law has taken the speed down to <paramref name="share"/> of itself; infinite where that
    /// cannot be told.</summary>
    public double FallsInS(double share)
    {
        if (!IsKnown)
            return double.PositiveInfinity;
        Fit();
        return SlowRate > 0 ? ((1 / share) - 1) / SlowRate : double.PositiveInfinity;
    }

    private double SlowRate => Math.Max(0, ((1 - LawSlack) * _rate) - (2 * _uRate)) / FromMiddle;

    // The rate is that of the middle of the speeds kept. Under a constant loss it has grown since as the speed fell, under one with the
    // power 2 it has fallen with the speed.
    private double FromMiddle => Math.Exp(0.5 * _rate * (_timeS[_count - 1] - _timeS[0]));

    private void Anchor(long ticks, double turns, int lockNumber) => (_anchorTicks, _anchorTurns, _anchorLock) = (ticks, turns, lockNumber);

    private void Fit()
    {
        if (_isFitted)
            return;
        _isFitted = true;
        int pairs = 0;
        for (int i = 0; i < _count; i++)
        {
            for (int k = i + 1; k < _count; k++)
                _work[pairs++] = (_logSpeed[k] - _logSpeed[i]) / (_timeS[k] - _timeS[i]);
        }

        double slope = Median(_work.AsSpan(0, pairs));
        Span<double> off = stackalloc double[Kept];
        for (int i = 0; i < _count; i++)
            off[i] = _logSpeed[i] - (slope * (_timeS[i] - _timeS[_count - 1]));
        _level = Median(off[.._count]);
        for (int i = 0; i < _count; i++)
            off[i] = Math.Abs(off[i] - _level);
        double scatter = 1.48 * Median(off[.._count]);
        double span = _timeS[_count - 1] - _timeS[0];
        _rate = Math.Max(0, -slope);
        _uRate = scatter * Math.Sqrt(12.0 / _count) / span;
    }

    private static double Median(Span<double> values)
    {
        values.Sort();
        int half = values.Length / 2;
        return values.Length % 2 == 1 ? values[half] : 0.5 * (values[half - 1] + values[half]);
    }
}
