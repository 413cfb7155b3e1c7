namespace Acquire.Conditioning;

/// <summary>Where the marks sit on the body: even at first, then learnt from how early or late each comes.</summary>
internal sealed class MarkSpacing
{
    private readonly int _marks;
    private readonly double[] _offsets;
    private readonly int[] _seen;

    public MarkSpacing(int marksPerTurn)
    {
        _marks = marksPerTurn;
        _offsets = new double[marksPerTurn];
        _seen = new int[marksPerTurn];
        Reset();
    }

    /// <summary>Turns from mark 0.</summary>
    public IReadOnlyList<double> Offsets => _offsets;

    /// <summary>Forgets what was learnt.</summary>
    public void Reset()
    {
        for (int i = 0; i < _marks; i++)
        {
            _offsets[i] = (double)i / _marks;
            _seen[i] = 0;
        }
    }

    /// <summary>Says that the marks may have been taken for one another: what was learnt counts for little.</summary>
    public void Doubt()
    {
        for (int i = 0; i < _marks; i++)
            _seen[i] = 0;
    }

    /// <summary>The mark nearest to an angle, counted through all turns.</summary>
    public long Nearest(double angle)
    {
        if (_marks == 1)
            return (long)Math.Round(angle);
        long guess = (long)Math.Round(angle * _marks);
        long best = guess;
        double least = double.PositiveInfinity;
        for (long mark = guess - 1; mark <= guess + 1; mark++)
        {
            double distance = Math.Abs(Position(mark) - angle);
            if (distance < least)
                (least, best) = (distance, mark);
        }

        return best;
    }

    /// <summary>Angle of a mark counted through all turns, turns.</summary>
    public double Position(long mark) => _marks == 1 ? mark : Math.Floor((double)mark / _marks) + _offsets[IndexOf(mark)];

    /// <summary>Which mark of its turn.</summary>
    public short IndexOf(long mark) => (short)(((mark % _marks) + _marks) % _marks);

    /// <summary>Standard uncertainty of the place of a mark, turns: up to 6 % of the spacing until it was seen, then less.</summary>
    public double UncertaintyOf(long mark) =>
        _marks == 1 ? 0 : 0.03 / _marks / Math.Sqrt(1 + _seen[IndexOf(mark)]);

    /// <summary>Learns from how far a mark was from where the track put it, turns.</summary>
    public void Learn(long mark, double residual)
    {
        if (_marks == 1)
            return;
        int index = IndexOf(mark);
        int weight = Math.Min(++_seen[index], 200);
        double step = -residual / (weight + 4);
        if (index != 0)
        {
            _offsets[index] += step;
            return;
        }

        // Mark 0 is the origin: that it seems to move means that all the others do, the other way.
        for (int i = 1; i < _marks; i++)
            _offsets[i] -= step;
    }
}
