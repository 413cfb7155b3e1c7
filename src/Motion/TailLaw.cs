namespace Acquire.Motion;

/// <summary>What the last few marks foretell of the next: a parabola of the angle against time, and beside it one with a wobble where there is one.</summary>
internal sealed class TailLaw
{
    private const int Least = 24;              // marks
    private const double LeastTurns = 12;
    private const double Floor = 0.003;        // of a spacing: what a law always leaves
    private readonly double _floorTurns;
    private readonly TailWobble _wobble;
    private readonly LocalFit _beside;

    /// <summary>Where a mark of a wobbling body is due.</summary>
    /// <param name="Law">The parabola, the wobble taken out.</param>
    /// <param name="Turns">How far the body has turned by then: the mark's angle less the wobble.</param>
    /// <param name="UTurns">Standard deviation of that.</param>
    public readonly record struct Wobbled(LocalFit Law, double Turns, double UTurns)
    {
        /// <summary>How far from where the mark was due a pulse came, turns.</summary>
        /// <param name="dt">Seconds since the law's last mark.</param>
        public double Off(double dt) => Law.Turned(dt) - Turns;
    }

    /// <summary>Fits it.</summary>
    /// <param name="timeS">When marks came, seconds, rising.</param>
    /// <param name="turns">Their angles.</param>
    /// <param name="marksPerTurn">Marks on the body.</param>
    public TailLaw(List<double> timeS, List<double> turns, int marksPerTurn)
    {
        int from = timeS.Count - 1;
        while (from > 0 && (timeS.Count - from < Least || turns[^1] - turns[from - 1] <= LeastTurns))
            from--;
        var window = new MarkSeries([.. timeS[from..]], [.. turns[from..]]);
        (AtS, _floorTurns) = (timeS[^1], Floor / marksPerTurn);
        Fit = LocalFit.At(window, 0, window.Count, AtS, 2);
        _wobble = new TailWobble(window, Fit, marksPerTurn);
        if (!_wobble.IsFound)
            return;
        for (int i = 0; i < window.Count; i++)
            window.Turns[i] -= _wobble.At(window.TimeS[i]);
        _beside = LocalFit.At(window, 0, window.Count, AtS, 2);
        _beside = _beside with { ResidualRms = double.Hypot(_beside.ResidualRms * _wobble.Stretch, _wobble.U) };
    }

    /// <summary>The parabola.</summary>
    public LocalFit Fit { get; }

    /// <summary>The moment it is about: the last mark's.</summary>
    public double AtS { get; }

    /// <summary>Standard deviation of an angle foretold by the parabola, turns.</summary>
    /// <param name="dt">Seconds since the last mark.</param>
    public double U(double dt) => U(Fit, dt);

    /// <summary>Where a mark is due by the wobble; null where there is none.</summary>
    /// <param name="turns">The mark's angle.</param>
    /// <param name="dueS">When it is due by the parabola, seconds.</param>
    public Wobbled? Beside(double turns, double dueS)
    {
        if (!_wobble.IsFound)
            return null;
        double turned = turns - _wobble.At(dueS);
        double dt = _beside.After(turned);
        return double.IsNaN(dt) ? null : new Wobbled(_beside, turned, U(_beside, dt));
    }

    private double U(in LocalFit law, double dt)
    {
        double bySpeed = law.USpeed * dt;
        double byBend = 0.5 * law.UAcceleration * dt * dt;
        return Math.Sqrt((law.ResidualRms * law.ResidualRms) + (bySpeed * bySpeed) + (byBend * byBend) + (_floorTurns * _floorTurns));
    }
}
