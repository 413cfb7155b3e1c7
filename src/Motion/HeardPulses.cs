using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>The pulses of late as they came, whatever they are, with their ordinals: where a run's pulses begin and end, and whether any
/// show that the sensor sees, is read from these, as judgements may come long after or not at all.</summary>
internal sealed class HeardPulses(double tickHz)
{
    private const int Kept = 8192;              // eight marks at 50 turns a second for twenty seconds
    private const double BeforeS = 2;           // a launch that stalls and is glimpsed rarely
    private const double QuietS = 1;            // while pulses follow each other sooner, the body has been in sight
    private const double LongestLaunchS = 20;
    private const double LampLastsS = 1.5;      // marks keep to the beat of light for less: the body is driven, or slows
    private const double SameBeat = 1.5e-3;     // to which a lamp's beat is the same all the while: marks that pass at that rate slow
    private const double AfterLastS = 5;        // what comes later than this after the last mark is no part of the run
    private const int BeatPulses = 16;          // fewer than a launch has, or light from before it would be among them
    private const int RowBefore = 40;           // pulses before the last mark, to begin a row with
    private const int RowAfter = 600;
    private const double StrayS = 0.2;          // a bounce comes sooner after its mark
    private const double BounceS = 1e-3;
    private const int Longest = 5;                  // so many spacings that are those of the run's body show it in sight
    private const double RowSpread = 0.15;
    private readonly long[] _ticks = new long[Kept];
    private readonly double[] _row = new double[Longest];
    private long _lastMarkTicks;
    private long _lastSightTicks;

    /// <summary>Ordinal of the last pulse; −1 before the first.</summary>
    public long Last { get; private set; } = -1;

    /// <summary>Ticks of the last pulse.</summary>
    public long LastTicks => Last < 0 ? 0 : Ticks(Last);

    /// <summary>Ordinal of the last pulse that may belong to the run under way.</summary>
    public long LastNear { get; private set; } = -1;

    /// <summary>Ordinal of the run's last mark.</summary>
    public long LastMark { get; private set; } = -1;

    /// <summary>Pulses since the last mark that are no bounce of it.</summary>
    public int Strays { get; private set; }

    /// <summary>The longest time without any pulse since the last mark, seconds.</summary>
    public double LongestGapS { get; private set; }

    /// <summary>Takes any pulse as it comes.</summary>
    public void Hear(long ticks)
    {
        if (Last >= 0)
            LongestGapS = Math.Max(LongestGapS, (ticks - LastTicks) / tickHz);
        _ticks[++Last % Kept] = ticks;
        Strays += (ticks - _lastMarkTicks) / tickHz > StrayS ? 1 : 0;
        if ((ticks - _lastSightTicks) / tickHz < AfterLastS)
            LastNear = Last;
    }

    /// <summary>Takes it that the run's last mark came at a moment.</summary>
    public void NoteMark(long ticks, long ordinal)
    {
        (_lastMarkTicks, _lastSightTicks) = (ticks, ticks);
        (LastMark, Strays, LongestGapS) = (ordinal, 0, 0);
        LastNear = (LastTicks - ticks) / tickHz < AfterLastS ? Last : Math.Max(LastNear, ordinal);
    }

    /// <summary>Marks a second where the last few pulses follow each other as those of the run's body would, too few of them for a lock;
    /// NaN otherwise. The pulses may then belong to the run.</summary>
    /// <param name="leastPerS">Marks a second that it has at least.</param>
    /// <param name="mostPerS">Marks a second that it has at most.</param>
    public double Glimpse(double leastPerS, double mostPerS)
    {
        double perS = Row(leastPerS * (1 - RowSpread), mostPerS * (1 + RowSpread));
        if (!(perS > 0) || Beats(Last))
            return double.NaN; // among the flashes of a lamp some follow each other like any marks
        (LastNear, _lastSightTicks) = (Last, LastTicks);
        return perS;
    }

    /// <summary>Goes on from the run's last mark while pulses come as further marks would, where the tracker lost them: they belong to it,
    /// and what comes soon after.</summary>
    /// <param name="leastPerS">Marks a second that it has at least.</param>
    /// <param name="mostPerS">Marks a second that it has at most.</param>
    /// <returns>Ordinal of the last of them; of the last mark where there are none.</returns>
    public long FollowRow(double leastPerS, double mostPerS)
    {
        var ordinals = new List<long>();
        int begins = 0;
        for (long i = Math.Max(Math.Max(1, Last - Kept + 2), LastMark - RowBefore); i <= Math.Min(Last, LastMark + RowAfter); i++)
        {
            if ((Ticks(i) - Ticks(i - 1)) / tickHz <= BounceS)
                continue;
            ordinals.Add(i);
            begins += i <= LastMark ? 1 : 0;
        }

        if (begins == 0 || !(leastPerS > 0))
            return LastMark;
        double[] timeS = [.. ordinals.Select(i => (Ticks(i) - Ticks(ordinals[0])) / tickHz)];
        List<(int At, int Step)> row = RowSearch.Find(timeS, begins, 1 / mostPerS, 1 / leastPerS);
        long end = row.Count == 0 ? LastMark : Math.Max(LastMark, ordinals[row[^1].At]);
        while (LastNear < Last && (Ticks(LastNear + 1) - Ticks(end)) / tickHz < AfterLastS)
            LastNear++;
        return end;
    }

    /// <summary>Ordinal of the first pulse of a launch whose first mark was recognised late: back over two seconds, and on while pulses
    /// follow each other; not into light of a lamp, nor into the run before.</summary>
    /// <param name="mark">Ordinal of the first mark recognised.</param>
    /// <param name="floor">Ordinal of the first pulse that may be taken.</param>
    public long FirstOfLaunch(long mark, long floor)
    {
        long first = mark;
        long from = Ticks(mark);
        while (first > floor && first - 1 > Last - Kept)
        {
            double backS = (from - Ticks(first - 1)) / tickHz;
            bool follows = backS < BeforeS || (Ticks(first) - Ticks(first - 1)) / tickHz < QuietS;
            if (!follows || backS > LongestLaunchS || IsLight(first - 1))
                break;
            first--;
        }

        return first;
    }

    /// <summary>Whether the last pulses come at the beat of mains light.</summary>
    public bool KeepsTime() => Last >= 0 && Beats(Last);

    private double Row(double leastPerS, double mostPerS)
    {
        int found = 0;
        for (long i = Last; i > Math.Max(0, Last - Kept + 1) && found < Longest; i--)
        {
            double apartS = (Ticks(i) - Ticks(i - 1)) / tickHz;
            if (apartS > BounceS)
                _row[found++] = apartS;
        }

        bool Fits(double spacingS) => spacingS * mostPerS > 1 && spacingS * leastPerS < 1;
        if (found < Longest)
            return double.NaN;
        double spacingS = Spacing();
        if (Fits(spacingS) && _row.All(apartS => IsMultiple(apartS / spacingS)))
            return 1 / spacingS;
        return Fits(_row[0]) && Fits(_row[1]) && Slows(_row[1], _row[0]) ? 1 / _row[0] : double.NaN;
    }

    private static bool IsMultiple(double spacings) =>
        Math.Round(spacings) is >= 1 and <= 3 && Math.Abs(spacings - Math.Round(spacings)) < RowSpread * Math.Round(spacings);

    // A body that comes to rest takes longer for each turn, and not twice as long.
    private static bool Slows(double beforeS, double afterS) => afterS > (1 - RowSpread) * beforeS && afterS < 1.6 * beforeS;

    // The mean of those that are not twice the shortest but for a mark unseen.
    private double Spacing()
    {
        double shortest = _row.Min();
        (double sum, int count) = (0, 0);
        foreach (double apartS in _row)
        {
            if (apartS > 1.5 * shortest)
                continue;
            sum += apartS;
            count++;
        }

        return count > Longest / 2 ? sum / count : double.NaN;
    }

    // One pulse of a launch out of lamp light comes in its beat by chance, not three.
    private bool IsLight(long ordinal) => IsLamp(ordinal) && (ordinal < 2 || (IsLamp(ordinal - 1) && IsLamp(ordinal - 2)));

    // A body that is launched may pass through the beat of light, but does not keep to it.
    private bool IsLamp(long ordinal)
    {
        if (!Beats(ordinal))
            return false;
        long earlier = ordinal;
        while (earlier > 0 && earlier > Last - Kept + 1 && (Ticks(ordinal) - Ticks(earlier)) / tickHz < LampLastsS)
            earlier--;
        double beat = Beat(ordinal);
        bool slows = Math.Abs((beat / Beat(earlier)) - 1) > SameBeat;
        return Beats(earlier) && !slows && !MainsLight.IsOffBeat(beat);
    }

    // How often a second the pulses up to one come, those that follow each other at once; NaN where few do.
    private double Beat(long ordinal)
    {
        long first = Math.Max(Math.Max(1, Last - Kept + 2), ordinal - BeatPulses);
        double shortest = Shortest(first, ordinal);
        (double sum, int count) = (0, 0);
        for (long i = first; i <= ordinal; i++)
        {
            double apart = Ticks(i) - Ticks(i - 1);
            if (Math.Abs((apart / shortest) - 1) > RowSpread)
                continue;
            sum += apart;
            count++;
        }

        return count >= BeatPulses / 6 ? count * tickHz / sum : double.NaN;
    }

    // The shortest interval between pulses of which there are many: a glint soon after a mark makes a shorter one.
    private double Shortest(long first, long ordinal)
    {
        Span<double> apart = stackalloc double[BeatPulses + 1];
        int count = 0;
        for (long i = first; i <= ordinal; i++)
        {
            double ticks = Ticks(i) - Ticks(i - 1);
            if (ticks > BounceS * tickHz)
                apart[count++] = ticks;
        }

        if (count == 0)
            return double.NaN;
        apart[..count].Sort();
        return apart[count / 6];
    }

    private bool Beats(long ordinal)
    {
        int count = (int)Math.Min(Math.Min(ordinal + 1, MainsLight.Kept), ordinal - Math.Max(-1, Last - Kept));
        if (count < MainsLight.Least)
            return false;
        Span<long> window = stackalloc long[count];
        for (int i = 0; i < count; i++)
            window[i] = Ticks(ordinal - count + 1 + i);
        return MainsLight.KeepsTime(window, tickHz);
    }

    private long Ticks(long ordinal) => _ticks[ordinal % Kept];
}
