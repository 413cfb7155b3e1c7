namespace Acquire.Conditioning;

/// <summary>The pulses of a run with those that are taken for marks, each with its number counted through all turns; what was missed is
/// a step of more than one.</summary>
internal sealed class MarkTable
{
    private const double FollowsS = 5e-4; // a pulse so soon after another is most likely its bounce
    private readonly uint[] _widthTicks;
    private readonly double _tickHz;
    private double[] _rawS;

    public MarkTable(IReadOnlyList<JudgedPulse> judged, double tickHz, double[] offsets)
    {
        _tickHz = tickHz;
        Offsets = offsets;
        TimeS = new double[judged.Count];
        _rawS = TimeS;
        _widthTicks = new uint[judged.Count];
        for (int i = 0; i < judged.Count; i++)
        {
            TimeS[i] = (judged[i].Ticks - judged[0].Ticks) / tickHz;
            _widthTicks[i] = judged[i].WidthTicks;
            HasWidths |= judged[i].WidthTicks > 0;
        }
    }

    /// <summary>Seconds of all pulses since the first; where a wobble was taken out, as they would be without it.</summary>
    public double[] TimeS { get; }

    /// <summary>Whether the source gives widths.</summary>
    public bool HasWidths { get; }

    /// <summary>Where each mark sits, turns from mark 0.</summary>
    public double[] Offsets { get; }

    /// <summary>Marks on the body.</summary>
    public int MarksPerTurn => Offsets.Length;

    /// <summary>The marks: which pulse, which number; rising in both.</summary>
    public List<MarkAt> Marks { get; set; } = [];

    /// <summary>Width of a mark, turns; NaN where it is not known.</summary>
    public double WidthTurns { get; private set; } = double.NaN;

    /// <summary>How many marks the body seems to have; 0 where the pulses do not tell.</summary>
    public int MarksSeen { get; set; }

    /// <summary>The pulse from which on the sensor sees light of a lamp, to the end; the number of pulses where it does not.</summary>
    public required int LightFrom { get; init; }

    /// <summary>Which mark of its turn.</summary>
    public short Place(long number) => (short)(((number % Offsets.Length) + Offsets.Length) % Offsets.Length);

    /// <summary>Angle of a mark, turns.</summary>
    public double Position(long number)
    {
        (long turn, long place) = Math.DivRem(number, Offsets.Length);
        return place < 0 ? turn - 1 + Offsets[place + Offsets.Length] : turn + Offsets[place];
    }

    /// <summary>Moment of the mark at an index, s.</summary>
    public double At(int index) => TimeS[Marks[index].Pulse];

    /// <summary>Speed between two marks by their indices, turns a second.</summary>
    public double Speed(int from, int to) => (Position(Marks[to].Number) - Position(Marks[from].Number)) / (At(to) - At(from));

    /// <summary>Whether a pulse comes so soon after the one before that it is most likely its bounce.</summary>
    public bool Follows(int pulse) => pulse > 0 && _rawS[pulse] - _rawS[pulse - 1] < FollowsS;

    /// <summary>Shifts the times of the pulses, seconds.</summary>
    public void Shift(double[] byS)
    {
        _rawS = [.. TimeS];
        for (int i = 0; i < byS.Length; i++)
            TimeS[i] = i == 0 ? TimeS[0] + byS[0] : Math.Max(TimeS[i - 1], _rawS[i] + byS[i]);
    }

    /// <summary>How far the width of a pulse, or of it with its bounces, is from a mark's at a speed: the logarithm of their ratio, of the
    /// two the smaller; 0 where widths are not known.</summary>
    public double WidthOff(int pulse, double turnsPerS)
    {
        if (double.IsNaN(WidthTurns) || _widthTicks[pulse] == 0)
            return 0;
        double expected = WidthTurns / turnsPerS;
        double least = Math.Abs(Math.Log(_widthTicks[pulse] / _tickHz / expected));
        for (int next = pulse + 1; next < TimeS.Length && Follows(next) && next < pulse + 6; next++)
        {
            double whole = TimeS[next] + (_widthTicks[next] / _tickHz) - TimeS[pulse];
            least = Math.Min(least, Math.Abs(Math.Log(Math.Max(whole, 1e-9) / expected)));
        }

        return least;
    }

    /// <summary>Width of a pulse at a speed, turns.</summary>
    public double WidthOf(int pulse, double turnsPerS) => _widthTicks[pulse] / _tickHz * turnsPerS;

    /// <summary>Learns how wide a mark is from the median of some marks.</summary>
    public void LearnWidth()
    {
        WidthTurns = double.NaN;
        if (!HasWidths || Marks.Count < 20)
            return;
        var widths = new List<double>();
        int step = Math.Max(1, Marks.Count / 1000);
        for (int m = 1; m < Marks.Count - 1; m += step)
            widths.Add(WidthOf(Marks[m].Pulse, Speed(m - 1, m + 1)));
        widths.Sort();
        double median = widths[widths.Count / 2];
        WidthTurns = median > 0 ? median : double.NaN;
    }

    /// <summary>Learns where the marks sit from whole turns in which all were seen: the median, since a glint beside a mark always pulls
    /// the same way.</summary>
    /// <param name="from">The first mark that is looked at, by its index.</param>
    /// <param name="to">The one after the last.</param>
    public void LearnOffsets(int from, int to)
    {
        if (MarksPerTurn == 1)
            return;
        LearnOffsets(from, to, 0.25); // what was learnt live may be far off where the body wobbles
        LearnOffsets(from, to, 0.05);
    }

    private void LearnOffsets(int from, int to, double mostOff)
    {
        const int Most = 2000;
        int n = MarksPerTurn;
        var shares = new List<double>[n];
        for (int k = 0; k < n; k++)
            shares[k] = [];
        int stride = Math.Max(1, (to - from) / n / Most);
        for (int m = from; m + n < to; m++)
        {
            if (Marks[m].Number % n != 0 || Marks[m + n].Number - Marks[m].Number != n)
                continue;
            double start = At(m);
            double turn = At(m + n) - start;
            if (!IsEven(m, start, turn, mostOff))
                continue;
            for (int k = 1; k < n; k++)
                shares[k].Add((At(m + k) - start) / turn);
            m += (n * stride) - 1;
        }

        for (int k = 1; k < n && shares[k].Count >= 10; k++)
        {
            shares[k].Sort();
            Offsets[k] = shares[k][shares[k].Count / 2];
        }
    }

    private bool IsEven(int m, double start, double turn, double mostOff)
    {
        for (int k = 1; k < Offsets.Length; k++)
        {
            if (Math.Abs(((At(m + k) - start) / turn) - Offsets[k]) > mostOff / Offsets.Length)
                return false;
        }

        return true;
    }
}

/// <summary>A pulse that is taken for a mark.</summary>
/// <param name="Pulse">Which pulse.</param>
/// <param name="Number">Which mark, counted through all turns.</param>
internal readonly record struct MarkAt(int Pulse, long Number);
