namespace Acquire.Motion;

/// <summary>Tells whether pulses come at the beat of mains light, some of its flashes unseen or not: 100 or 120 a second.</summary>
/// <remarks>Rayleigh's test of a common phase, at each rate that a grid's frequency may have. A free body slows and so leaves any beat
/// within a few turns.</remarks>
internal sealed class MainsLight(double tickHz)
{
    private const int Kept = 12;
    private const int Least = 6;
    private const int Fewest = 4;                // a launch that waits for one or two more pulses loses nothing
    private const double RateSpread = 0.006;     // a grid strays by far less; the board's clock by no more than the rest
    private const double SparsestS = 0.06;       // pulses rarer than this agree with some rate by chance
    private const double LeastPhase = 0.45;      // of Rayleigh's mean: worth a closer look
    private const double BeatS = 4e-4;           // a flash comes so close to its beat
    private const double InBeat = 0.65;          // of the pulses: hand, glints and rolling come among them
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

    // The last few alone, too: light may just have come.
    private bool Check() => Beats(_count) || Beats(Math.Min(_count, Least));

    private bool Beats(int pulses)
    {
        if (pulses < Fewest)
            return false;
        long last = _ticks[At(0)];
        double spanS = (last - _ticks[At(pulses - 1)]) / tickHz;
        if (spanS > SparsestS * pulses || spanS <= 0)
            return false;
        foreach (double rate in Rates)
        {
            double step = 0.1 / spanS;
            for (double hz = rate * (1 - RateSpread); hz <= rate * (1 + RateSpread); hz += step)
            {
                if (IsBeat(pulses, hz, last))
                    return true;
            }
        }

        return false;
    }

    private bool IsBeat(int pulses, double hz, long last)
    {
        (double length, double phase) = Mean(pulses, hz, last, 0, 0.5);
        if (length < LeastPhase * pulses)
            return false;

        // Those that are no flashes pull the phase aside: it is taken again without them.
        (_, phase) = Mean(pulses, hz, last, phase, 0.12);
        (double inBeat, _) = Mean(pulses, hz, last, phase, BeatS * hz);
        return inBeat >= Math.Max(Math.Min(pulses, Least - 1), InBeat * pulses) - 0.5;
    }

    // The sum of the pulses as vectors on the circle of the beat, of those so near to a phase: its length, and its phase in cycles.
    private (double Length, double Phase) Mean(int pulses, double hz, long last, double about, double within)
    {
        (double sin, double cos) = (0, 0);
        for (int i = 0; i < pulses; i++)
        {
            double cycles = hz * ((_ticks[At(i)] - last) / tickHz);
            if (Math.Abs(cycles - about - Math.Round(cycles - about)) > within)
                continue;
            (double s, double c) = Math.SinCos(2 * Math.PI * cycles);
            sin += s;
            cos += c;
        }

        return (Math.Sqrt((sin * sin) + (cos * cos)), Math.Atan2(sin, cos) / (2 * Math.PI));
    }

    private int At(int ago) => (_next + (2 * Kept) - 1 - ago) % Kept;
}
