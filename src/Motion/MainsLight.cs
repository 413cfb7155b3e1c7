namespace Acquire.Motion;

/// <summary>Tells whether pulses come at the beat of mains light, some of its flashes unseen or not: 100 or 120 a second.</summary>
/// <remarks>Rayleigh's test of a common phase, at each rate that a grid's frequency may have. A free body slows and so leaves any beat
/// within a few turns. Unlike the lamp finder of the judgement, which names a lamp once it is sure, this one answers after a few pulses:
/// a run that begins falsely is worse than one that begins a few pulses later.</remarks>
internal sealed class MainsLight(double tickHz)
{
    /// <summary>So many of the last pulses are looked at.</summary>
    public const int Kept = 12;

    /// <summary>Fewer tell little.</summary>
    public const int Least = 6;

    private const int Fewest = 4;                // a launch that waits for one or two more pulses loses nothing
    private const double RateSpread = 0.006;     // a grid strays by far less; the board's clock by no more than the rest
    private const double RateError = 0.002;      // of one that some dozen pulses tell
    private const double SparsestS = 0.06;       // pulses rarer than this agree with some rate by chance
    private const double LeastPhase = 0.45;      // of Rayleigh's mean: worth a closer look
    private const double BeatS = 4e-4;           // a flash comes so close to its beat
    private const double InBeat = 0.65;          // of the pulses: hand, glints and rolling come among them
    private const double OfOneLength = 0.8;      // of the intervals: flashes that pass unseen leave intervals of many lengths, a body of one
    private static readonly double[] Rates = [100, 120];
    private readonly long[] _ticks = new long[Kept];
    private readonly long[] _window = new long[Kept];
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

    /// <summary>Whether pulses keep the time of mains light, the last of them too.</summary>
    public static bool KeepsTime(ReadOnlySpan<long> ticks, double tickHz) => Beats(ticks, tickHz, lastToo: true);

    /// <summary>Whether pulses that follow each other so often a second come at another rate than mains light does; false where the rate is
    /// not a number. A dozen pulses alone do not tell such a rate from the next per cent.</summary>
    public static bool IsOffBeat(double perS)
    {
        bool off = !double.IsNaN(perS);
        foreach (double rate in Rates)
            off &= Math.Abs((perS / rate) - 1) > RateSpread + RateError;
        return off;
    }

    // The last few alone, too: light may just have come.
    private bool Check()
    {
        for (int i = 0; i < _count; i++)
            _window[i] = _ticks[(_next + Kept - _count + i) % Kept];
        ReadOnlySpan<long> all = _window.AsSpan(0, _count);
        return Beats(all, tickHz, lastToo: false) || Beats(all[^Math.Min(_count, Least)..], tickHz, lastToo: false);
    }

    private static bool Beats(ReadOnlySpan<long> ticks, double tickHz, bool lastToo)
    {
        if (ticks.Length < Fewest)
            return false;
        double spanS = (ticks[^1] - ticks[0]) / tickHz;
        if (spanS > SparsestS * ticks.Length || spanS <= 0)
            return false;
        foreach (double rate in Rates)
        {
            double step = 0.1 / spanS;
            for (double hz = rate * (1 - RateSpread); hz <= rate * (1 + RateSpread); hz += step)
            {
                if (IsBeat(ticks, hz / tickHz, BeatS * hz, lastToo))
                    return true;
            }
        }

        return false;
    }

    private static bool IsBeat(ReadOnlySpan<long> ticks, double perTick, double near, bool lastToo)
    {
        (double length, double phase) = Mean(ticks, perTick, 0, 0.5);
        if (length < LeastPhase * ticks.Length)
            return false;

        // Those that are no flashes pull the phase aside: it is taken again without them.
        (_, phase) = Mean(ticks, perTick, phase, 0.12);
        if (lastToo && Math.Abs(Off(0, phase)) > near)
            return false;
        (int inBeat, int oneLength, int intervals) = Intervals(ticks, perTick, phase, near);
        return inBeat >= Math.Max(Math.Min(ticks.Length, Least - 1), (InBeat * ticks.Length) - 0.5) && oneLength < OfOneLength * intervals;
    }

    // How many pulses are in the beat, how many of the intervals between these are of one length beyond one flash, and how many intervals
    // there are.
    private static (int InBeat, int OneLength, int Intervals) Intervals(ReadOnlySpan<long> ticks, double perTick, double phase, double near)
    {
        Span<long> lengths = stackalloc long[Kept];
        (int inBeat, long flashBefore) = (0, 0);
        for (int i = 0; i < ticks.Length; i++)
        {
            double cycles = perTick * (ticks[i] - ticks[^1]);
            if (Math.Abs(Off(cycles, phase)) > near)
                continue;
            long flash = (long)Math.Round(cycles - phase);
            if (inBeat > 0)
                lengths[inBeat - 1] = flash - flashBefore;
            flashBefore = flash;
            inBeat++;
        }

        return (inBeat, OfOne(lengths[..Math.Max(0, inBeat - 1)]), Math.Max(1, inBeat - 1));
    }

    // How many are of one length beyond one flash, or of a multiple of it, where a mark passed unseen.
    private static int OfOne(ReadOnlySpan<long> lengths)
    {
        int most = 0;
        foreach (long length in lengths)
        {
            if (length < 2)
                continue;
            int count = 0;
            foreach (long other in lengths)
                count += other % length == 0 ? 1 : 0;
            most = Math.Max(most, count);
        }

        return most;
    }

    private static double Off(double cycles, double phase) => cycles - phase - Math.Round(cycles - phase);

    // The sum of the pulses as vectors on the circle of the beat, of those so near to a phase: its length, and its phase in cycles.
    private static (double Length, double Phase) Mean(ReadOnlySpan<long> ticks, double perTick, double about, double within)
    {
        (double sin, double cos) = (0, 0);
        foreach (long at in ticks)
        {
            double cycles = perTick * (at - ticks[^1]);
            if (Math.Abs(Off(cycles, about)) > within)
                continue;
            (double s, double c) = Math.SinCos(2 * Math.PI * cycles);
            sin += s;
            cos += c;
        }

        return (Math.Sqrt((sin * sin) + (cos * cos)), Math.Atan2(sin, cos) / (2 * Math.PI));
    }
}
