namespace Acquire.Motion;

/// <summary>Tells whether pulses come at the beat of mains light, some of its flashes unseen or not: 100 or 120 a second.</summary>
/// <remarks>Rayleigh's test of a common phase, at each rate that a grid's frequency may have. A free body slows and so leaves any beat
/// within a few turns.</remarks>
internal sealed class MainsLight(double tickHz)
{
    private const int Kept = 48;
    private const int Least = 16;
    private const double RateSpread = 0.006;     // a grid strays by far less; the board's clock by no more than the rest
    private const double SparsestS = 0.06;       // pulses rarer than this agree with some rate by chance
    private const double InPhase = 0.9;
    private const int RecheckPulses = 12;
    private static readonly double[] Rates = [100, 120];
    private readonly long[] _ticks = new long[Kept];
    private int _count;
    private int _next;
    private int _sinceChecked = RecheckPulses;

    /// <summary>True while the last pulses beat as mains light does.</summary>
    public bool IsSeen
    {
        get
        {
            if (_sinceChecked >= RecheckPulses)
            {
                field = Check();
                _sinceChecked = 0;
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
        _sinceChecked++;
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
            double step = 0.2 / spanS;
            for (double hz = rate * (1 - RateSpread); hz <= rate * (1 + RateSpread); hz += step)
            {
                if (Phase(hz, last) > InPhase)
                    return true;
            }
        }

        return false;
    }

    private double Phase(double hz, long last)
    {
        (double sin, double cos) = (0, 0);
        for (int i = 0; i < _count; i++)
        {
            (double s, double c) = Math.SinCos(2 * Math.PI * hz * ((_ticks[i] - last) / tickHz));
            sin += s;
            cos += c;
        }

        return Math.Sqrt((sin * sin) + (cos * cos)) / _count;
    }
}
