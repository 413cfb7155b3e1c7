namespace Acquire.Motion;

/// <summary>When the body fell, by all that the pulses about the end say: the probability of each moment, on a grid.</summary>
/// <remarks>Bayes' rule with an even prior over the turns. Before the fall each mark that was due came as the law foretold, or was missed;
/// after it either none is seen, or some come ever later, by what grows as a power of the time since the fall began: 2 where the brake
/// is there at once, 3 or 4 where it grows, as in <see cref="Release"/>. A body as tall as a hand falls within some tenths of a second to a
/// second or so (free fall from its own height takes √(2h/g), 0.1 s for 5 cm; from upright it takes several times that).</remarks>
internal sealed class FallReading
{
    private const int StepsADue = 24;
    private const double Surer = 0.003;        // by less a moment is no better than the median
    private const double LongestS = 1.5;       // of a fall that is seen
    private const double LeastWeight = 1e-9;
    private const double HiddenShare = 0.3;    // of the falls of which the sensor sees nothing
    private const double LateLaw = 0.2;        // of the lateness: no fall follows a power
    private const double UsualHalfS = 0.28;    // until the body turns half as fast
    private const double UHalfS = 0.5;         // of the logarithm
    private const double LateWidth = 0.5;      // of what the speed has lost: how unsure the logarithm of a mark's length is
    private const double LeastSpeed = 0.15;    // of that at the fall
    private static readonly double[] HalfS = [0.08, 0.12, 0.17, 0.24, 0.34, 0.48, 0.7];
    private static readonly int[] Powers = [2, 3, 4];
    private readonly TailPulses _pulses;
    private readonly TailTrack _track;
    private readonly List<(double TimeS, double Weight)> _grid = [];

    private FallReading(TailPulses pulses, TailTrack track)
    {
        _pulses = pulses;
        _track = track;
        double[] logs = track.Logs();
        double most = logs.Max();
        int likeliest = Array.IndexOf(logs, most);
        for (int k = 0; k + 1 < logs.Length; k++)
        {
            if (logs[k] > most + Math.Log(LeastWeight) || (k <= likeliest && track.Dues[likeliest].DueS - track.Dues[k].DueS < LongestS))
                After(k, Math.Exp(logs[k] - most));
        }
    }

    /// <summary>Probability that marks were seen during the fall.</summary>
    public double SeenFalling { get; private set; }

    /// <summary>Reads the fall; null where nothing can be told.</summary>
    public static FallReading? Of(TailPulses pulses, TailTrack track)
    {
        var reading = new FallReading(pulses, track);
        double sum = reading._grid.Sum(g => g.Weight);
        if (!(sum > 0))
            return null;
        reading.SeenFalling /= sum;
        for (int i = 0; i < reading._grid.Count; i++)
            reading._grid[i] = (reading._grid[i].TimeS, reading._grid[i].Weight / sum);
        reading._grid.Sort((a, b) => a.TimeS.CompareTo(b.TimeS));
        return reading;
    }

    /// <summary>The moment before which the fall began with the given probability.</summary>
    public double Quantile(double probability)
    {
        double sum = 0;
        foreach ((double timeS, double weight) in _grid)
        {
            sum += weight;
            if (sum >= probability)
                return timeS;
        }

        return _grid[^1].TimeS;
    }

    /// <summary>The moment nearest to the median that has the fall within so long on either side as surely as any moment has.</summary>
    public double Middle(double withinS)
    {
        double median = Quantile(0.5);
        (double best, double most) = (median, Within(median, withinS) + Surer);
        for (int i = 0; i < _grid.Count; i++)
        {
            foreach (double at in new[] { _grid[i].TimeS - withinS, _grid[i].TimeS + withinS })
            {
                double sure = Within(at, withinS);
                if (sure > most + 1e-4 || (sure > most - 1e-4 && Math.Abs(at - median) < Math.Abs(best - median)))
                    (best, most) = (at, sure);
            }
        }

        return best;
    }

    private double Within(double aboutS, double reachS) =>
        _grid.Where(g => Math.Abs(g.TimeS - aboutS) <= reachS + 1e-9).Sum(g => g.Weight);

    /// <summary>Half the width of the interval about a moment that holds the fall with the given probability.</summary>
    public double HalfWidth(double aboutS, double probability)
    {
        double sum = 0;
        double half = 0;
        foreach ((double timeS, double weight) in _grid.OrderBy(g => Math.Abs(g.TimeS - aboutS)))
        {
            half = Math.Abs(timeS - aboutS);
            sum += weight;
            if (sum >= probability)
                break;
        }

        return half;
    }

    // The body fell between this mark and the next.
    private void After(int k, double weight)
    {
        TailTrack.Due due = _track.Dues[k];
        double fromS = due.Pulse >= 0 ? _pulses.TimeS[due.Pulse] : due.DueS;
        double toS = due.LawS + due.Law.After(_track.Dues[k + 1].Turns);
        if (!(toS > fromS))
            return;
        for (int step = 0; step < StepsADue; step++)
        {
            double fallS = fromS + ((step + 0.5) / StepsADue * (toS - fromS));
            (double hidden, double seen) = (0, 0);
            double all = 0;
            foreach (double half in HalfS)
            {
                double z = Math.Log(half / UsualHalfS) / UHalfS;
                double likely = Math.Exp(-0.5 * z * z);
                all += likely * Powers.Length;
                foreach (int power in Powers)
                {
                    (double none, double some) = Falling(k, fallS, half, power);
                    hidden += likely * none;
                    seen += likely * some;
                }
            }

            _grid.Add((fallS, weight * (hidden + seen) / all / StepsADue));
            SeenFalling += weight * seen / all / StepsADue;
        }
    }

    // How well a fall explains the pulses: where nothing of it is seen, and where marks are seen up to some part of it.
    private (double Hidden, double Seen) Falling(int k, double fallS, double half, int power)
    {
        double length = half * Math.Pow(2, 1.0 / (power - 1));
        LocalFit law = _track.Dues[k].Law;
        double dt = fallS - _track.Dues[k].LawS;
        double speed = law.Speed + (law.Acceleration * dt);
        double begin = law.Turned(dt);
        double explained = 1;
        double before = 0;
        double hidden = HiddenShare;
        double seen = 0;
        for (int j = k + 1; j < _track.Dues.Count; j++)
        {
            double share = Share((_track.Dues[j].Turns - begin) / (speed * length), power);
            double until = Math.Min(1, Math.Min(share, 1) * length / (2 * half));
            double visible = (1 - HiddenShare) * (until - before);
            if (j == k + 1)
                hidden += visible;
            else
                seen += visible * explained;
            if (!(share < 1))
                return (hidden, seen);
            before = until;
            if (explained < LeastWeight)
                return (hidden, seen); // what is left weighs no more than this
            explained *= Explained(k, j, fallS + (share * length), speed * length * Math.Pow(share, power) / power, speed, Math.Pow(share, power - 1));
        }

        return (hidden, seen + ((1 - HiddenShare) * (1 - before) * explained));
    }

    private double Explained(int k, int j, double dueS, double lateTurns, double before, double slowed)
    {
        double speed = before * Math.Max(LeastSpeed, 1 - slowed);
        double u = double.Hypot(_track.Dues[j].UTurns, LateLaw * lateTurns);
        double uS = u / speed;
        double best = 0;
        for (int i = _pulses.FirstAtOrAfter(dueS - (3 * uS)); i < _pulses.Usable && _pulses.TimeS[i] < dueS + (3 * uS); i++)
        {
            double off = (_pulses.TimeS[i] - dueS) * speed;
            best = Math.Max(best, Math.Exp(_track.LogRatio(i, off, u, speed, LateWidth * slowed)));
        }

        double missed = _track.Missing.Of(_track.Dues[j - 1].Pulse < 0 && j - 1 > k);
        return Math.Max((1 - missed) * best, missed);
    }

    // The share u of the fall after which the body has turned so far: u − uᵐ/m, which is 1 − 1/m at its end; infinite where it never does.
    private static double Share(double turned, int power)
    {
        if (turned <= 0)
            return 0;
        if (turned >= 1 - (1.0 / power))
            return double.PositiveInfinity;
        (double low, double high) = (0, 1);
        for (int i = 0; i < 20; i++)
        {
            double u = 0.5 * (low + high);
            if (u - (Power(u, power) / power) < turned)
                low = u;
            else
                high = u;
        }

        return 0.5 * (low + high);
    }

    private static double Power(double x, int power) => power switch
    {
        1 => x,
        2 => x * x,
        3 => x * x * x,
        _ => x * x * x * x,
    };
}
