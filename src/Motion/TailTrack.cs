namespace Acquire.Motion;

/// <summary>The marks that a freely spinning body brings one after the other near the end of its spin, each seen or missed, as the law of the
/// marks before it foretells them. All pulses are looked at, whatever they were judged to be: what came when a mark was due, and
/// was as long as one, may be one.</summary>
internal sealed class TailTrack
{
    private const int Window = 24;             // marks that foretell the next
    private const int Least = 10;
    private const double WindowTurns = 12;
    private const double FallS = 1.5;          // the law is taken from marks so long before the last: no fall takes longer
    private const double GapTurns = 4;         // over more a law may not carry
    private const double Regular = 0.09;       // of a spacing: root of the mean square of what a law leaves; by chance 0.29
    private const double Wobbling = 0.16;
    private const double LeastGate = 0.12;     // of a spacing
    private const double MostGate = 0.35;
    private const double Vague = 0.2;          // of a spacing: a law less sure than this foretells nothing
    private const int MostMissed = 60;
    private const double Steady = 0.3;         // share of the bodies whose wobble does not go on as it was
    private static readonly double[] BackTurns = [40, 20, 10, 4];
    private readonly TailPulses _pulses;
    private readonly List<double> _ownS = [];
    private readonly List<double> _ownTurns = [];
    private readonly HashSet<int> _own = [];
    private readonly Dictionary<int, (double PerS, double PerLogLength)> _chance = [];
    private readonly MarkWidth _width;
    private double[] _glints = [];

    /// <summary>A moment at which a mark was due.</summary>
    /// <param name="Turns">Its angle.</param>
    /// <param name="DueS">When the law of the marks before foretold it.</param>
    /// <param name="UTurns">Standard deviation of the foretold angle.</param>
    /// <param name="Pulse">The pulse that came; −1 where it was missed.</param>
    /// <param name="LogRatio">ln of the probability of what came, the body spinning, over that by chance.</param>
    /// <param name="Law">The law of the marks up to here.</param>
    /// <param name="LawS">The moment that <paramref name="Law"/> is about.</param>
    public readonly record struct Due(double Turns, double DueS, double UTurns, int Pulse, double LogRatio, LocalFit Law, double LawS)
    {
        /// <summary>Where it was due by the wobble of the marks before; null where there was none.</summary>
        public TailLaw.Wobbled? Beside { get; init; }
    }

    private TailTrack(TailPulses pulses, int anchor)
    {
        _pulses = pulses;
        int from = anchor;
        while (from > 0 && anchor - from + 1 < 10 * Window && GapBefore(pulses.Marks, from) is false
            && (anchor - from + 1 < Window || pulses.Marks.Turns[anchor] - pulses.Marks.Turns[from] < WindowTurns))
            from--;
        for (int i = from; i <= anchor; i++)
        {
            _ownS.Add(pulses.Marks.TimeS[i]);
            _ownTurns.Add(pulses.Marks.Turns[i]);
            _own.Add(pulses.MarkPulse[i]);
        }

        _width = new MarkWidth(pulses, from, anchor);
        Missing = MissingRate.Of(pulses.Before, pulses.Before.Count - pulses.Marks.Count + anchor, pulses.MarksPerTurn);
    }

    /// <summary>The moments, from the last mark of the stretch that the law was taken from.</summary>
    public List<Due> Dues { get; } = [];

    /// <summary>Of each of <see cref="Dues"/> how likely it is the last mark before the fall, were none seen in it: logarithms, to a common factor.</summary>
    public double[] Logs()
    {
        double[] logs = new double[Dues.Count];
        double sum = 0;
        for (int k = 0; k < logs.Length; k++)
        {
            sum += Dues[k].LogRatio;
            logs[k] = sum + _glints[k];
        }

        return logs;
    }

    /// <summary>The likeliest of these.</summary>
    public int Likeliest()
    {
        double[] logs = Logs();
        return Array.IndexOf(logs, logs.Max());
    }

    /// <summary>How often marks are missed.</summary>
    public MissingRate Missing { get; }

    /// <summary>Follows the marks from a stretch near the end where they are sure; null where there is none.</summary>
    public static TailTrack? Follow(TailPulses pulses)
    {
        // From so far back that no rolling taken for marks is in it, if no gap lies between; else from as far as may be.
        int anchor = Anchor(pulses, -1, Regular);

        // A body that came back for its last turns wobbles: its marks are sure enough where the sure ones lie beyond a gap.
        if (anchor >= 0 && HasGap(pulses.Marks, anchor, pulses.Marks.Count - 1))
            anchor = Anchor(pulses, anchor, Wobbling);
        if (anchor < 0)
            return null;
        var track = new TailTrack(pulses, anchor);
        track.Go(anchor);
        track.Weigh();
        track.WeighGlints(pulses.MarkPulse[..(anchor + 1)].Where(track._own.Contains).ToArray());
        return track;
    }

    private static int Anchor(TailPulses pulses, int anchor, double regular)
    {
        foreach (double turns in BackTurns)
        {
            int from = SureBefore(pulses, turns, regular);
            if (from < 0 || (anchor >= 0 && !HasGap(pulses.Marks, from, anchor)))
                continue;
            if (anchor < 0 || from > anchor)
                anchor = from;
        }

        return anchor;
    }

    /// <summary>ln of the probability of a pulse as a mark over that by chance, its moment and its length.</summary>
    /// <param name="pulse">The pulse.</param>
    /// <param name="off">How far from where the mark was due, turns.</param>
    /// <param name="u">Standard deviation of that.</param>
    /// <param name="speed">Turns a second then.</param>
    /// <param name="uLogSpeed">How unsure the logarithm of that is.</param>
    /// <param name="beside">How far from where it was due by the wobble, and the standard deviation of that; null where there is none.</param>
    public double LogRatio(int pulse, double off, double u, double speed, double uLogSpeed, (double Off, double U)? beside = null)
    {
        if (!_chance.TryGetValue(pulse, out (double PerS, double PerLogLength) chance))
            _chance[pulse] = chance = _pulses.Chance(pulse, _own);
        double likely = Likely(off, u);
        if (beside is { } wobble)
            likely = (Steady * likely) + ((1 - Steady) * Likely(wobble.Off, wobble.U));
        return Math.Log(likely * speed / chance.PerS) + _width.LogRatio(pulse, speed, uLogSpeed, chance.PerLogLength);
    }

    private static int SureBefore(TailPulses pulses, double turns, double regular)
    {
        // Before the end of its own stretch: flashes of the fallen body that were taken for marks long after lie beyond a gap.
        MarkSeries marks = pulses.Marks;
        int end = marks.Count - 1;
        for (int i = end; i >= Least - 1; i--)
        {
            if (i + 1 < marks.Count && GapBefore(marks, i + 1))
                end = i;
            if (marks.TimeS[i] <= marks.TimeS[end] - FallS && marks.Turns[i] <= marks.Turns[end] - turns && IsSure(marks, i, regular / pulses.MarksPerTurn, pulses.MarksPerTurn))
                return i;
        }

        return -1;
    }

    private static bool HasGap(MarkSeries marks, int from, int to)
    {
        for (int i = Math.Min(from, to) + 1; i <= Math.Max(from, to); i++)
        {
            if (GapBefore(marks, i))
                return true;
        }

        return false;
    }

    private static bool GapBefore(MarkSeries marks, int i) => marks.Turns[i] - marks.Turns[i - 1] > GapTurns;

    private static bool IsSure(MarkSeries marks, int anchor, double most, int marksPerTurn)
    {
        int from = Math.Max(0, anchor - Window + 1);
        for (int i = anchor; i > from; i--)
        {
            if (GapBefore(marks, i))
                from = i;
        }

        int count = anchor - from + 1;
        if (count < Least || count < 0.6 * ((marks.Turns[anchor] - marks.Turns[from]) * marksPerTurn))
            return false;
        LocalFit fit = LocalFit.At(marks, from, anchor + 1, marks.TimeS[anchor], 2);
        return fit.Speed > 0 && fit.ResidualRms < most;
    }

    private void Go(int anchor)
    {
        int missed = 0;
        double angle = _ownTurns[^1];
        TailLaw law = Law();
        Dues.Add(new Due(angle, law.AtS, 0, _pulses.MarkPulse[anchor], 0, law.Fit, law.AtS));
        for (int step = 1; missed <= MostMissed; step++)
        {
            double turns = angle + _pulses.Between(anchor, step);
            double dt = law.Fit.After(turns);
            double u = law.U(dt);
            if (double.IsNaN(dt) || u > Vague / _pulses.MarksPerTurn)
                return;
            var due = new Due(turns, law.AtS + dt, u, -1, 0, law.Fit, law.AtS) { Beside = law.Beside(turns, law.AtS + dt) };
            int pulse = Best(due);
            if (pulse < 0)
            {
                missed++;
                Dues.Add(due);
                continue;
            }

            missed = 0;
            _chance.Clear();
            _ownS.Add(_pulses.TimeS[pulse]);
            _ownTurns.Add(turns);
            _own.Add(pulse);
            law = Law();
            Dues.Add(due with { Pulse = pulse, Law = law.Fit, LawS = law.AtS });
        }
    }

    // Once all marks are known: what is a mark is no other pulse that shows how easily one comes by chance.
    private void Weigh()
    {
        _chance.Clear();
        for (int k = 1; k < Dues.Count; k++)
        {
            Due due = Dues[k];
            Due before = Dues[k - 1];
            double missed = Missing.Of(before.Pulse < 0);
            double ratio = Math.Log(missed);
            if (due.Pulse >= 0)
            {
                double dt = _pulses.TimeS[due.Pulse] - before.LawS;
                double speed = before.Law.Speed + (before.Law.Acceleration * dt);
                ratio = Math.Log(1 - missed) + LogRatio(due.Pulse, before.Law.Turned(dt) - due.Turns, due.UTurns, speed, 0, Beside(due, dt));
            }

            Dues[k] = due with { LogRatio = ratio };
        }
    }

    private void WeighGlints(int[] sure)
    {
        _glints = new double[Dues.Count];
        var glints = new TailGlints(_pulses, sure, _ownTurns[sure.Length - 1] - _ownTurns[0], Dues[0].Law.Speed, _width.UsualTurns, _own);
        double turns = Dues[0].Turns;
        for (int k = 0; k < Dues.Count; k++)
        {
            Due due = Dues[k];
            if (k > 0 && due.Pulse >= 0)
            {
                glints.See(due.Pulse, due.Turns - turns, due.Law.Speed);
                turns = due.Turns;
            }

            _glints[k] = glints.Log(due.DueS, due.Law.Speed);
        }
    }

    private TailLaw Law() => new(_ownS, _ownTurns, _pulses.MarksPerTurn);

    private static (double Off, double U)? Beside(in Due due, double dt) => due.Beside is { } wobble ? (wobble.Off(dt), wobble.UTurns) : null;

    private int Best(in Due due)
    {
        double gate = Math.Clamp(4 * due.UTurns, LeastGate / _pulses.MarksPerTurn, MostGate / _pulses.MarksPerTurn);
        double reachS = 1.2 * gate / due.Law.Speed;
        (int best, double most) = (-1, double.NegativeInfinity);
        for (int i = _pulses.FirstAtOrAfter(Math.Max(_ownS[^1] + 1e-6, due.DueS - reachS)); i < _pulses.Usable && _pulses.TimeS[i] <= due.DueS + reachS; i++)
        {
            double dt = _pulses.TimeS[i] - due.LawS;
            double off = due.Law.Turned(dt) - due.Turns;
            if (Math.Abs(off) > gate)
                continue;
            double speed = due.Law.Speed + (due.Law.Acceleration * dt);
            double ratio = LogRatio(i, off, due.UTurns, speed, 0, Beside(due, dt));
            if (ratio > most)
                (best, most) = (i, ratio);
        }

        return best;
    }

    // One in twenty is three times as far off: no law is quite a body's.
    private static double Likely(double off, double u) => (0.95 * Bell(off, u)) + (0.05 * Bell(off, 3 * u));

    private static double Bell(double x, double u) => Math.Exp(-0.5 * x * x / (u * u)) / (u * Math.Sqrt(2 * Math.PI));
}
