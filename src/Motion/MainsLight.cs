namespace Acquire.Motion;

/// <summary>Tells whether pulses come at the beat of mains light, some of its flashes unseen or not: 100 or 120 a second.</summary>
/// <remarks>Rayleigh's test of a common phase, at each rate that a grid's frequency may have. A free body slows and so leaves any beat
/// within a few turns.</remarks>
internal sealed class MainsLight(double tickHz)
{
    private const int Kept = 12;
    private const int Least = 6;
    private const double RateSpread = 0.006;     // a grid strays by far less; the board's clock by no more than the rest
    private const double SparsestS = 0.06;       // pulses rarer than this agree with some rate by chance
    private const double LeastPhase = 0.6;       // of Rayleigh's mean: worth a closer look
    private const double BeatS = 4e-4;           // a flash comes so close to its beat
    private const double InBeat = 0.75;          // of the pulses: hand, glints and rolling come among them
    private static readonly double[] Rates = [100, 120];
    private readonly long[] _ticks = new long[Kept];
    private int _count;
    private int _next;
    private bool _isStale;

    /// <summary>True while the last pulses beat as mains light does.</summary>
    public bool IsSeen
    {
        get
        {
            if (_isStale)
            {
                field = Check();
                _isStale = false;
            }

            return field;
        }
    }

    /// <summary>Takes any pulse.</summary>
    public void See(long ticks)
    {
        if (_count > 0 && ticks - _ticks[(_next + Kept - 1) % Kept] < 1e-3 * tickHz)
            return;
        _ticks[_next] = ticks;
        _next = (_next + 1) % Kept;
        _count = Math.Min(_count + 1, Kept);
        _isStale = true;
    }

    private bool Check()
    {
        if (_count < Least)
            return false;
        long last = _ticks[(_next + Kept - 1) % Kept];
        double spanS = (last - _ticks[(_next + Kept - _count) % Kept]) / tickHz;
        if (spanS > SparsestS * _count || spanS <= 0)
            return false;
        foreach (double rate in Rates)
        {
            double step = 0.1 / spanS;
            for (double hz = rate * (1 - RateSpread); hz <= rate * (1 + RateSpread); hz += step)
            {
                if (IsBeat(hz, last))
                    return true;
            }
        }

        return false;
    }

    private bool IsBeat(double hz, long last)
    {
        (double sin, double cos) = (0, 0);
        for (int i = 0; i < _count; i++)
        {
            (double s, double c) = Math.SinCos(2 * Math.PI * Cycles(i, hz, last));
            sin += s;
            cos += c;
        }

        if (Math.Sqrt((sin * sin) + (cos * cos)) < LeastPhase * _count)
            return false;
        double phase = Math.Atan2(sin, cos) / (2 * Math.PI);
        int inBeat = 0;
        for (int i = 0; i < _count; i++)
        {
            double off = Cycles(i, hz, last) - phase;
            inBeat += Math.Abs(off - Math.Round(off)) < BeatS * hz ? 1 : 0;
        }

        return inBeat >= Math.Max(Least - 1, InBeat * _count);
    }

    private double Cycles(int i, double hz, long last) => hz * ((_ticks[i] - last) / tickHz);
}
