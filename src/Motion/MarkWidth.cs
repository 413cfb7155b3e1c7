namespace Acquire.Motion;

/// <summary>How long a mark is: a constant angle, so that a pulse much longer or shorter than that at the body's speed is hardly one.</summary>
internal sealed class MarkWidth
{
    private const double Broken = 0.15;        // share of the marks that are cut by a bounce
    private const double LeastSpread = 0.02;
    private const int LeastMarks = 8;
    private readonly TailPulses _pulses;
    private readonly double _usual = double.NaN;
    private readonly double _spread;

    /// <summary>How long it is, turns; NaN where too few tell.</summary>
    public double UsualTurns => Math.Exp(_usual);

    /// <summary>Learns it from marks that are sure.</summary>
    public MarkWidth(TailPulses pulses, int from, int to)
    {
        _pulses = pulses;
        var logs = new List<double>();
        for (int i = Math.Max(1, from); i <= to; i++)
        {
            double speed = (pulses.Marks.Turns[i] - pulses.Marks.Turns[i - 1]) / (pulses.Marks.TimeS[i] - pulses.Marks.TimeS[i - 1]);
            double width = pulses.WidthS[pulses.MarkPulse[i]];
            if (width > 0)
                logs.Add(Math.Log(width * speed));
        }

        if (logs.Count < LeastMarks)
            return;
        logs.Sort();
        _usual = logs[logs.Count / 2];
        double[] off = [.. logs.Select(l => Math.Abs(l - _usual)).Order()];
        _spread = Math.Max(LeastSpread, 1.4826 * off[off.Length / 2]);
    }

    /// <summary>ln of the probability of a pulse's length as a mark's over that as any other's; 0 where lengths do not tell.</summary>
    /// <param name="pulse">The pulse.</param>
    /// <param name="speed">Turns a second then.</param>
    /// <param name="uLogSpeed">How unsure the logarithm of that is.</param>
    /// <param name="others">Density of the logarithm of length at this one's among the other pulses about.</param>
    public double LogRatio(int pulse, double speed, double uLogSpeed, double others)
    {
        double width = _pulses.WidthS[pulse];
        if (double.IsNaN(_usual) || width <= 0 || speed <= 0)
            return 0;
        double u = double.Hypot(_spread, uLogSpeed);
        double off = (Math.Log(width * speed) - _usual) / u;
        double bell = Math.Exp(-0.5 * off * off) / (u * Math.Sqrt(2 * Math.PI));
        return Math.Log(((1 - Broken) * bell / others) + Broken);
    }
}
