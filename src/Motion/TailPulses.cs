using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>The last pulses of a run as plain columns, those judged to be marks told apart: what the end of the spin is read from.</summary>
internal sealed class TailPulses
{
    private const double Turns = 150;      // before the last mark: bursts of misses and a short rolling leave enough of them
    private const int Most = 40_000;
    private const int History = 2000;      // marks before these
    private const double NearS = 0.4;
    private const double AlikeLog = 0.06;
    private const double MostAlikeLog = 1;
    private const double LogLengths = 6;   // from some microseconds to some hundredths of a second
    private readonly double[] _offsets;
    private readonly int[] _place;

    private TailPulses(JudgedRun run, int from, int last, double secondsPerTick, int marksPerTurn)
    {
        int count = run.Pulses.Count - from;
        (TimeS, WidthS, _place) = (new double[count], new double[count], new int[count]);
        var marks = new List<int>();
        var turns = new List<double>();
        for (int i = 0; i < count; i++)
        {
            JudgedPulse p = run.Pulses[from + i];
            TimeS[i] = (p.Ticks - run.Pulses[0].Ticks) * secondsPerTick;
            WidthS[i] = p.WidthTicks * secondsPerTick;
            _place[i] = p.Mark;
        }

        Usable = EndLight.From(TimeS);
        for (int i = 0; i < Usable; i++)
        {
            JudgedPulse p = run.Pulses[from + i];
            if (p.Kind != PulseKind.Mark || from + i > last)
                continue;
            marks.Add(i);
            turns.Add(p.Turns);
        }

        MarkPulse = [.. marks];
        Before = [.. run.Pulses.Take(from).Where(p => p.Kind == PulseKind.Mark).TakeLast(History).Select(p => p.Turns), .. turns];
        Marks = new MarkSeries([.. marks.Select(i => TimeS[i])], [.. turns]);
        _offsets = run.MarkOffsets.Count == marksPerTurn
            ? [.. run.MarkOffsets]
            : [.. Enumerable.Range(0, marksPerTurn).Select(i => i / (double)marksPerTurn)];
    }

    /// <summary>When each pulse came, seconds since the run's first, rising.</summary>
    public double[] TimeS { get; }

    /// <summary>How long each was, seconds; 0 where the source does not tell.</summary>
    public double[] WidthS { get; }

    /// <summary>Those judged to be marks.</summary>
    public MarkSeries Marks { get; }

    /// <summary>Angles of <see cref="Marks"/> and of many marks before them, turns.</summary>
    public IReadOnlyList<double> Before { get; }

    /// <summary>Which pulse each of <see cref="Marks"/> is.</summary>
    public int[] MarkPulse { get; }

    /// <summary>So many of the pulses come before the light of a lamp that shines on the fallen body: among its flashes no mark is told.</summary>
    public int Usable { get; }

    /// <summary>Marks on the body.</summary>
    public int MarksPerTurn => _offsets.Length;

    /// <summary>Cuts the tail off a run.</summary>
    public static TailPulses Of(JudgedRun run, double secondsPerTick, int marksPerTurn)
    {
        int last = run.Pulses.Count - 1;
        while (run.Pulses[last].Kind != PulseKind.Mark)
            last--;
        int from = last;
        double since = run.Pulses[last].Turns - Turns;
        while (from > 0 && run.Pulses[from].Turns > since && last - from < Most)
            from--;
        return new TailPulses(run, from, last, secondsPerTick, marksPerTurn);
    }

    /// <summary>Angle from a mark to the one that passes <paramref name="steps"/> later, turns.</summary>
    public double Between(int mark, int steps)
    {
        int at = Math.Max(0, _place[MarkPulse[mark]]) % MarksPerTurn;
        (int turns, int place) = Math.DivRem(at + steps, MarksPerTurn);
        return turns + _offsets[place] - _offsets[at];
    }

    /// <summary>Index of the first pulse at or after a time.</summary>
    public int FirstAtOrAfter(double timeS)
    {
        int at = Array.BinarySearch(TimeS, timeS);
        return at >= 0 ? at : ~at;
    }

    /// <summary>The pulses shortly before or after one, whichever are more, those that <paramref name="own"/> says are marks left out: how
    /// easily such a one comes by chance.</summary>
    /// <remarks>The density of lengths is that of a box kernel; its width is by the rule of thumb, 0.9·σ·n^(−1/5), of Silverman, Density
    /// Estimation (1986), 3.31, from memory: flashes of a lamp are of one length, those of a body that rolls of any.</remarks>
    /// <returns>How many a second, and the density of the logarithm of length among them at this one's.</returns>
    public (double PerS, double PerLogLength) Chance(int pulse, HashSet<int> own)
    {
        List<int> before = [];
        List<int> after = [];
        for (int i = pulse - 1; i >= 0 && TimeS[i] > TimeS[pulse] - NearS; i--)
            See(i, own, before);
        for (int i = pulse + 1; i < TimeS.Length && TimeS[i] < TimeS[pulse] + NearS; i++)
            See(i, own, after);
        List<int> others = after.Count > before.Count ? after : before;
        double[] logs = [.. others.Where(i => WidthS[i] > 0).Select(i => Math.Log(WidthS[i])).Order()];
        double reach = AlikeLog;
        if (logs.Length >= 4)
        {
            double spread = (logs[logs.Length * 3 / 4] - logs[logs.Length / 4]) / 1.349; // of a normal distribution its σ
            reach = Math.Clamp(0.9 * spread * Math.Pow(logs.Length, -0.2), AlikeLog, MostAlikeLog);
        }

        int alike = WidthS[pulse] > 0 ? logs.Count(l => Math.Abs(l - Math.Log(WidthS[pulse])) < reach) : 0;
        return ((others.Count + 0.5) / NearS, (alike + (2 * reach / LogLengths)) / (others.Count + 1) / (2 * reach));
    }

    private static void See(int i, HashSet<int> own, List<int> seen)
    {
        if (!own.Contains(i))
            seen.Add(i);
    }
}
