using Acquire.Acquisition;

namespace Acquire.Conditioning;

/// <summary>Names light of a mains lamp while pulses come: flashes at twice the mains' frequency, some of them unseen or not.</summary>
/// <remarks>It looks at intervals only: each is a whole number of flashes, many are a single one, and the beat does not slow. A body whose
/// marks pass at that very rate looks the same for as long as it takes to leave it, some seconds: the name is for pulses that belong
/// to no run. Takes one pulse in constant time and memory.</remarks>
/// <param name="tickHz">Nominal ticks a second of the source.</param>
public sealed class LampLight(double tickHz)
{
    private const int Kept = 128;
    private const int Every = 16;             // pulses from look to look
    private const double LeastSpanS = 0.5;
    private const double SilentS = 1;
    private const double RateSpread = 0.004;  // mains stray by 0.2 %, a board's resonator by as much
    private const double JitterShare = 0.03;  // of a flash's period
    private const double LeastHits = 0.9;
    private const double LeastSingle = 0.2;   // so many intervals are of one flash
    private const double LargestDrift = 5e-4; // from the first half of what is kept to the second
    private static readonly double[] NominalHz = [100, 120];
    private readonly long[] _ticks = new long[Kept];
    private int _count;
    private int _next;
    private int _sinceLook;
    private readonly int[] _row = new int[NominalHz.Length];

    /// <summary>Flashes a second by the source's nominal clock; NaN where the pulses of late are no lamp's.</summary>
    public double Hz { get; private set; } = double.NaN;

    /// <summary>How many intervals of late, one after the other, were whole numbers of flashes: marks of a body are so by chance only.</summary>
    public int Row { get; private set; }

    /// <summary>Whether so many pulses a second come as a mains lamp flashes, each or each second time.</summary>
    internal static bool IsBeat(double perS)
    {
        foreach (double nominal in NominalHz)
        {
            double flashes = nominal / perS;
            if (IsWhole(flashes, out double whole) && whole <= 2)
                return true;
        }

        return false;
    }

    /// <summary>Forgets all pulses.</summary>
    public void Forget()
    {
        _count = 0;
        Row = 0;
        Array.Clear(_row);
        Hz = double.NaN;
    }

    /// <summary>Takes the next pulse, whatever it was judged to be.</summary>
    public void See(in Pulse pulse)
    {
        double interval = _count > 0 ? (pulse.Ticks - _ticks[(_next + Kept - 1) % Kept]) / tickHz : 0;
        if (interval > SilentS)
            Forget();
        Row = 0;
        for (int i = 0; i < NominalHz.Length; i++)
        {
            _row[i] = IsWhole(interval * NominalHz[i], out _) ? _row[i] + 1 : 0;
            Row = Math.Max(Row, _row[i]);
        }

        _ticks[_next] = pulse.Ticks;
        _next = (_next + 1) % Kept;
        _count = Math.Min(_count + 1, Kept);
        if (++_sinceLook < Every)
            return;
        _sinceLook = 0;
        Hz = Look();
    }

    private double Look()
    {
        int half = _count / 2;
        if (half < Every || (Ticks(_count - 1) - Ticks(0)) / tickHz < LeastSpanS)
            return double.NaN;
        foreach (double nominal in NominalHz)
        {
            double early = Rate(nominal, 0, half);
            double late = Rate(nominal, half, _count - 1);
            if (Math.Abs(early - late) < LargestDrift * nominal)
                return (early + late) / 2;
        }

        return double.NaN;
    }

    // Flashes a second between two pulses; NaN where the intervals are not those of a lamp.
    private double Rate(double nominal, int from, int to)
    {
        (double flashes, double seconds) = (0, 0);
        (int hits, int single) = (0, 0);
        for (int i = from; i < to; i++)
        {
            double interval = (Ticks(i + 1) - Ticks(i)) / tickHz;
            if (!IsWhole(interval * nominal, out double whole))
                continue;
            hits++;
            single += whole == 1 ? 1 : 0;
            flashes += whole;
            seconds += interval;
        }

        return hits >= LeastHits * (to - from) && single >= LeastSingle * hits && Math.Abs((flashes / seconds / nominal) - 1) < RateSpread
            ? flashes / seconds
            : double.NaN;
    }

    private static bool IsWhole(double flashes, out double whole)
    {
        whole = Math.Round(flashes);
        return whole >= 1 && Math.Abs(flashes - whole) <= JitterShare + (RateSpread * whole);
    }

    // The oldest is 0.
    private long Ticks(int index) => _ticks[(_next + Kept - _count + index) % Kept];
}
