namespace Acquire.Motion;

/// <summary>The whole of a free decay as one smooth curve: the turn angle as a spline whose pieces are short beside the time in which the
/// speed falls to 1/e. It takes the bend out of the marks, so that what a window must follow is next to nothing.</summary>
internal sealed class DecayCurve
{
    private const int LeastMarks = 60;        // in one piece
    private readonly SplineBasis _basis;
    private readonly double[] _turns;
    private readonly double[] _speed;
    private readonly double[] _acceleration;
    private readonly double _originS;
    private readonly double _originTurns;

    public DecayCurve(SplineBasis basis, double[] coefficients, double originS, double originTurns)
    {
        _basis = basis;
        _turns = coefficients;
        _speed = basis.Derived(coefficients, SplineBasis.Degree);
        _acceleration = basis.Derived(_speed, SplineBasis.Degree - 1);
        (_originS, _originTurns) = (originS, originTurns);
    }

    /// <summary>The functions that it is made of.</summary>
    public SplineBasis Basis => _basis;

    /// <summary>Angle at a moment, turns.</summary>
    public double Turns(double timeS, ref int near) => _originTurns + Value(_turns, SplineBasis.Degree, timeS, ref near);

    /// <summary>Speed, turns a second.</summary>
    public double Speed(double timeS, ref int near) => Value(_speed, SplineBasis.Degree - 1, timeS, ref near);

    /// <summary>Acceleration, turns a second squared.</summary>
    public double Acceleration(double timeS, ref int near) => Value(_acceleration, SplineBasis.Degree - 2, timeS, ref near);

    /// <summary>Length of the piece that a moment lies in, s.</summary>
    public double PieceS(double timeS, ref int near)
    {
        near = _basis.Interval(timeS - _originS, near);
        return _basis.Length(near);
    }

    /// <summary>Halves a decay, and its halves again, until the logarithm of speed falls by no more than
    /// <paramref name="mostFall"/> within each piece.</summary>
    public static SplineBasis BasisFor(MarkSeries marks, double mostFall)
    {
        var breaks = new List<double> { 0 };
        Split(marks, 0, marks.Count - 1, mostFall, breaks);
        return new SplineBasis(breaks);
    }

    private static void Split(MarkSeries marks, int from, int to, double mostFall, List<double> breaks)
    {
        double first = marks.TimeS[0];
        int middle = marks.FirstAtOrAfter(0.5 * (marks.TimeS[from] + marks.TimeS[to]));
        bool may = middle - from >= LeastMarks && to - middle >= LeastMarks;
        if (may && Math.Abs(Math.Log(Mean(marks, from, to, 0) / Mean(marks, from, to, 7))) > mostFall * 7 / 8)
        {
            Split(marks, from, middle, mostFall, breaks);
            Split(marks, middle, to, mostFall, breaks);
        }
        else
        {
            breaks.Add(marks.TimeS[to] - first);
        }
    }

    // Mean speed over one of the eighths.
    private static double Mean(MarkSeries marks, int from, int to, int eighth)
    {
        double step = (marks.TimeS[to] - marks.TimeS[from]) / 8;
        int a = Math.Min(to - 1, marks.FirstAtOrAfter(marks.TimeS[from] + (eighth * step)));
        int b = Math.Clamp(marks.FirstAtOrAfter(marks.TimeS[from] + ((eighth + 1) * step)), a + 1, to);
        return (marks.Turns[b] - marks.Turns[a]) / (marks.TimeS[b] - marks.TimeS[a]);
    }

    private double Value(double[] coefficients, int degree, double timeS, ref int near)
    {
        double x = timeS - _originS;
        near = _basis.Interval(x, near);
        return _basis.Curve(coefficients, degree, x, near);
    }
}
