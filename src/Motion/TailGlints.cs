using MathNet.Numerics.Distributions;

namespace Acquire.Motion;

/// <summary>What pulses that are no marks say of the end: while a body spins they are glints, as rare as before; once it has fallen and rolls about they
/// come as they like.</summary>
/// <remarks>Glints are counted by turns. Of a Poisson process of which c events were seen in T turns, the events in T′ more follow a negative binomial
/// distribution with c + ½ and (T + 1)/(T + 1 + T′) (Jeffreys' prior; Gelman and others, Bayesian Data Analysis, 2.6, from memory). From the beginning of
/// a fall until the body rolls takes a time of which the logarithm is normal.</remarks>
internal sealed class TailGlints
{
    private const double UsualFallS = 0.56;    // twice the time in which a falling body comes to half its speed
    private const double ULogFall = 0.5;
    private const int Falls = 24;
    private const double BesideMark = 1.2;     // of a mark's length: so near to one a pulse is its bounce
    private const double UsualMarkTurns = 0.025;
    private const int Back = 6;                // marks, from the last one, from which on there may be too many
    private const double MostLog = 15;
    private const double RollsPerS = 1;        // flashes of a rolling body, at the least
    private const double Still = 0.1;          // share of the bodies that fell which lie still, and are moved later
    private const double LeastTurns = 0.1;
    private static readonly double[] FallsS = [.. Enumerable.Range(0, Falls).Select(i => UsualFallS * Math.Exp(Normal.InvCDF(0, ULogFall, (i + 0.5) / Falls)))];
    private readonly TailPulses _pulses;
    private readonly HashSet<int> _own;        // pulses that may be marks
    private readonly HashSet<int> _before = [];
    private readonly List<(double Glints, double Turns)> _seen = [];
    private readonly double _besideTurns;
    private int _last;

    /// <summary>Counts the glints of the stretch in which the marks are sure.</summary>
    /// <param name="pulses">The pulses about the end.</param>
    /// <param name="sure">Which of them are the marks of that stretch, rising.</param>
    /// <param name="turns">How far the body turned in it.</param>
    /// <param name="turnsPerS">Its speed there.</param>
    /// <param name="markTurns">How long a mark is; NaN where that is not known.</param>
    /// <param name="own">All pulses that may be marks.</param>
    public TailGlints(TailPulses pulses, IReadOnlyList<int> sure, double turns, double turnsPerS, double markTurns, HashSet<int> own)
    {
        (_pulses, _own, _last) = (pulses, own, sure[0]);
        _besideTurns = BesideMark * (double.IsNaN(markTurns) ? UsualMarkTurns : markTurns);
        _before.UnionWith(sure);
        double glints = 0;
        for (int i = 1; i < sure.Count; i++)
            glints += Until(sure[i], turnsPerS);
        _seen.Add((glints, turns));
    }

    /// <summary>Takes the next mark.</summary>
    /// <param name="pulse">The pulse.</param>
    /// <param name="turns">Turns since the one before.</param>
    /// <param name="turnsPerS">The speed.</param>
    public void See(int pulse, double turns, double turnsPerS)
    {
        _before.Add(pulse);
        _seen.Add((_seen[^1].Glints + Until(pulse, turnsPerS), _seen[^1].Turns + turns));
    }

    /// <summary>ln of how well all other pulses agree with a fall that began soon after a mark which was the last, or was due and not seen.</summary>
    /// <param name="dueS">When that mark came or was due, seconds.</param>
    /// <param name="turnsPerS">The speed.</param>
    public double Log(double dueS, double turnsPerS)
    {
        double lastS = _pulses.TimeS[_last];
        double fromS = Math.Max(lastS, dueS);
        double sum = 0;
        int glints = 0;
        int i = _last + 1;
        foreach (double fallS in FallsS)
        {
            for (; i < _pulses.TimeS.Length && _pulses.TimeS[i] < fromS + fallS; i++)
                glints += !_own.Contains(i) && _pulses.TimeS[i] - lastS > _besideTurns / turnsPerS ? 1 : 0;
            double turns = Math.Max(LeastTurns, (fromS - lastS + fallS) * turnsPerS);
            sum += Rolls(fromS + fallS) * Math.Exp(Spins(glints, turns));
        }

        return Math.Log(sum / FallsS.Length);
    }

    // A body that rolls flashes soon, or not at all.
    private double Rolls(double fromS)
    {
        int next = _pulses.FirstAtOrAfter(fromS);
        while (next < _pulses.TimeS.Length && _before.Contains(next))
            next++;
        return next == _pulses.TimeS.Length ? 1 : Still + ((1 - Still) * Math.Exp(-RollsPerS * (_pulses.TimeS[next] - fromS)));
    }

    // From whichever of the last marks on they are the most surprising.
    private double Spins(int glints, double turns)
    {
        double least = 0;
        for (int j = _seen.Count - 1; j >= Math.Max(0, _seen.Count - 1 - Back); j--)
        {
            int count = glints + (int)(_seen[^1].Glints - _seen[j].Glints);
            if (count > 0)
                least = Math.Min(least, LogOfSoMany(count, turns + _seen[^1].Turns - _seen[j].Turns, _seen[j]));
        }

        return Math.Max(-MostLog, least);
    }

    private static double LogOfSoMany(int count, double turns, (double Glints, double Turns) before)
    {
        double p = (before.Turns + 1) / (before.Turns + 1 + turns);
        return Math.Log(Math.Max(1e-30, 1 - NegativeBinomial.CDF(before.Glints + 0.5, p, count - 1)));
    }

    // Pulses between the last mark and this one that are no bounces of either.
    private int Until(int pulse, double turnsPerS)
    {
        int glints = 0;
        double besideS = _besideTurns / turnsPerS;
        for (int i = _last + 1; i < pulse; i++)
            glints += _pulses.TimeS[i] - _pulses.TimeS[_last] > besideS && _pulses.TimeS[pulse] - _pulses.TimeS[i] > besideS ? 1 : 0;
        _last = pulse;
        return glints;
    }
}
