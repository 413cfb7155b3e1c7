namespace Acquire.Motion;

/// <summary>An unbroken piece of a run and the speed at any moment of it.</summary>
/// <remarks>A free decay is first described as a whole by a smooth curve, a wobble beside it; then a parabola is fitted to what they leave of
/// the marks in a window about the moment, and its slope and bend are added to the curve's. So the window's fit reaches the Cramér-Rao
/// bound of a parabola over its marks without the error that the bend of the decay would bring (local regression with a start: Hjort and
/// Glad 1995, from memory). Where a piece is too short for a curve, or is a launch, a quartic is fitted to the marks themselves.</remarks>
internal sealed class DecayPiece
{
    /// <summary>Longest half of a window, s.</summary>
    public const double LongestHalfS = 40;
    private const double ShortestHalfS = 0.15;
    private const double WindowShare = 0.08;   // of the time in which the speed would fall to 1/e
    private const double PieceShare = 0.22;     // of a piece of the curve: in longer windows the curve's own scatter would count
    private const double Worse = 1.35;         // residuals that grow by more show that the window is too long for what happens
    private const int LeastMarks = 10;
    private const int LeastForCurve = 80;
    private readonly MarkSeries _marks;
    private readonly DecayCurve? _curve;
    private int _near;

    private DecayPiece(MarkSeries marks, DecayCurve? curve, WobbleFound? wobble, double fromS)
    {
        _marks = marks;
        _curve = curve;
        Wobble = wobble;
        Span = (fromS, marks.TimeS[^1]);
    }

    /// <summary>First and last moment, s.</summary>
    public (double FromS, double ToS) Span { get; }

    /// <summary>How many marks it has.</summary>
    public int Count => _marks.Count;

    /// <summary>The wobble; null where none stands out.</summary>
    public WobbleFound? Wobble { get; }

    /// <summary>Half the window about a moment, s.</summary>
    /// <param name="speed">Speed there, any unit.</param>
    /// <param name="fall">Its fall in a second, same unit.</param>
    public static double HalfWindowS(double speed, double fall) =>
        Math.Clamp(WindowShare * Math.Abs(speed) / Math.Max(Math.Abs(fall), 1e-12), ShortestHalfS, LongestHalfS);

    /// <summary>A piece in which the body spins freely.</summary>
    /// <param name="marks">Its marks.</param>
    /// <param name="fromS">When it began: not after the first mark.</param>
    public static DecayPiece Free(MarkSeries marks, double fromS)
    {
        if (marks.Count < LeastForCurve)
            return new(marks, null, null, fromS);
        WobbleFound found = WobbleFound.In(marks);
        MarkSeries settled = marks;
        for (int round = 0; round < 4; round++)
        {
            int first = Settling.Marks(found);
            MarkSeries rest = new(settled.TimeS[first..], settled.Turns[first..]);
            MarkSeries? clean = Strays.Without(rest, found.Rest[first..]);
            if (first == 0 && clean is null)
                break;
            settled = clean ?? rest;
            found = WobbleFound.In(settled);
        }

        return found.IsSane
            ? new DecayPiece(new MarkSeries(settled.TimeS, found.Rest), found.Curve, found, fromS)
            : new DecayPiece(marks, null, null, fromS);
    }

    /// <summary>A piece that follows no law.</summary>
    public static DecayPiece Plain(MarkSeries marks) => new(marks, null, null, marks.TimeS[0]);

    /// <summary>Speed and acceleration at a moment.</summary>
    public LocalFit At(double atS)
    {
        double half = _curve is null
            ? HalfByMarks(atS)
            : Math.Max(ShortestHalfS, Math.Min(
                PieceShare * _curve.PieceS(atS, ref _near), HalfWindowS(_curve.Speed(atS, ref _near), _curve.Acceleration(atS, ref _near))));
        LocalFit fit = Window(atS, half);
        for (int i = 0; i < 8 && half > ShortestHalfS && fit.Count > 2 * LeastMarks; i++)
        {
            LocalFit shorter = Window(atS, half / 2);
            if (shorter.Count < LeastMarks || fit.ResidualRms <= Worse * shorter.ResidualRms)
                break;
            half /= 2;
            fit = shorter;
        }

        return _curve is null ? fit : WithCurve(fit, atS, half);
    }

    private LocalFit WithCurve(in LocalFit fit, double atS, double half)
    {
        (double uSpeed, double uAcceleration) = (fit.USpeed, fit.UAcceleration);
        if (atS < _marks.TimeS[0] + half || atS > Span.ToS - half)
        {
            // At an end the window does not make up for what the curve is unsure of.
            (int from, int to) = Reach(atS, half);
            (double speed, double acceleration) = CurveShare.Of(Wobble!, from, to, atS);
            (uSpeed, uAcceleration) = (double.Hypot(uSpeed, speed), double.Hypot(uAcceleration, acceleration));
        }

        return fit with
        {
            Speed = fit.Speed + _curve!.Speed(atS, ref _near),
            Acceleration = fit.Acceleration + _curve.Acceleration(atS, ref _near),
            USpeed = uSpeed,
            UAcceleration = uAcceleration,
        };
    }

    // From a window that starts short and grows while it may.
    private double HalfByMarks(double atS)
    {
        double half = 0.5;
        for (int i = 0; i < 8; i++)
        {
            LocalFit fit = Window(atS, half);
            double allowed = HalfWindowS(fit.Speed, Math.Abs(fit.Acceleration) + (2 * fit.UAcceleration));
            if (allowed < half * 1.5)
                return Math.Max(half, ShortestHalfS);
            half = Math.Min(2 * half, allowed);
        }

        return half;
    }

    // Near an end the window keeps its length and lies to one side: the fit's uncertainty says so.
    private LocalFit Window(double atS, double half)
    {
        (int from, int to) = Reach(atS, half);
        int degree = _curve is not null || to - from < LeastMarks ? 2 : 4;
        return LocalFit.At(_marks, from, to, atS, degree);
    }

    private (int From, int To) Reach(double atS, double half)
    {
        (double fromS, double toS) = (_marks.TimeS[0], _marks.TimeS[^1]);
        double start = _curve is null ? atS - half : Math.Clamp(atS - half, fromS, Math.Max(fromS, toS - (2 * half)));
        double end = _curve is null ? atS + half : start + (2 * half);
        int from = _marks.FirstAtOrAfter(start - 1e-9);
        int to = _marks.FirstAtOrAfter(end + 1e-9);
        int least = Math.Min(LeastMarks, _marks.Count);
        while (to - from < least)
        {
            bool canLeft = from > 0;
            bool canRight = to < _marks.Count;
            if (canLeft && (!canRight || atS - _marks.TimeS[from - 1] < _marks.TimeS[to] - atS))
                from--;
            else
                to++;
        }

        return (from, to);
    }
}
