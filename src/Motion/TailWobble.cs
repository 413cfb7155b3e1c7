namespace Acquire.Motion;

/// <summary>How a body that precesses brings its last marks early and late: a sine beside the law, whose rate grows as the body slows.</summary>
/// <remarks>A fast top precesses at m·g·l/(I₃·ω) (any textbook of mechanics; from memory): the phase is a constant times ∫dt/ω. Least squares of a
/// parabola with a sine and a cosine beside it, at the constant of a grid that leaves least: the periodogram with a floating mean of Zechmeister and
/// Kürster, Astronomy and Astrophysics 496 (2009), from memory, its time stretched by the speed. Slower than some cycles in the window it is not told
/// from the law, faster than the marks come not from a slower one.</remarks>
internal sealed class TailWobble
{
    private const int Rates = 240;              // of the grid
    private const double MostRate = 3;          // cycles a mark at the last of them
    private const double LeastCycles = 1.5;     // over the window: fewer are the law's own bend
    private const double LeastGain = 4;         // by so much the variance must fall: chance alone halves it now and then
    private const double Unsure = 0.35;         // of its size: it grows, and no body precesses quite so
    private const int Law = 3;                  // terms of the parabola
    private const int Terms = 6;                // with sine, cosine and rate
    private readonly double[] _timeS;
    private readonly double[][] _law = new double[Law][];
    private readonly double[] _rest;            // of the angles, once the law is taken out
    private readonly double _toS;
    private readonly LocalFit _fit;
    private double _rate;                       // at the end, radians a second
    private double _sine;
    private double _cosine;

    /// <summary>Looks for it.</summary>
    /// <param name="marks">The marks.</param>
    /// <param name="fit">A parabola through them, at the last.</param>
    /// <param name="marksPerTurn">Marks on the body.</param>
    public TailWobble(MarkSeries marks, in LocalFit fit, int marksPerTurn)
    {
        (_timeS, _toS, _fit) = (marks.TimeS, marks.TimeS[^1], fit);
        _rest = [.. marks.Turns.Select(t => t - marks.Turns[0])];
        if (marks.Count < 2 * Terms || !(Speed(_timeS[0]) > 0 && Speed(_toS) > 0))
            return;
        for (int k = 0; k < Law; k++)
        {
            _law[k] = [.. _timeS.Select(t => Math.Pow((t - _toS) / (_toS - _timeS[0]), k))];
            for (int before = 0; before < k; before++)
                TakeOut(_law[before], _law[k]);
            double norm = Math.Sqrt(Dot(_law[k], _law[k]));
            for (int i = 0; i < _timeS.Length; i++)
                _law[k][i] /= norm;
        }

        foreach (double[] term in _law)
            TakeOut(term, _rest);
        Search(marksPerTurn);
    }

    /// <summary>Whether there is one that explains most of what the law leaves.</summary>
    public bool IsFound => _rate > 0;

    /// <summary>What the residuals of a parabola, once the wobble is taken out, are to be multiplied by, as more terms were fitted.</summary>
    public double Stretch => Math.Sqrt((_timeS.Length - Law) / (double)(_timeS.Length - Terms));

    /// <summary>How unsure it is at a mark to come, turns.</summary>
    public double U => Unsure * double.Hypot(_sine, _cosine);

    /// <summary>By how many turns a mark's angle is more than what the body has turned when that mark comes; 0 where there is none, or where the body
    /// would be at rest.</summary>
    /// <param name="atS">The moment, seconds.</param>
    public double At(double atS)
    {
        if (!IsFound || !(Speed(atS) > 0))
            return 0;
        (double sine, double cosine) = Math.SinCos(_rate * Phase(atS));
        return (_sine * sine) + (_cosine * cosine);
    }

    private void Search(int marksPerTurn)
    {
        int count = _timeS.Length;
        double[] sine = new double[count];
        double[] cosine = new double[count];
        double[] phase = [.. _timeS.Select(Phase)];
        double alone = Dot(_rest, _rest);
        double least = alone * (count - Terms) / (count - Law) / LeastGain;
        for (int r = 1; r <= Rates; r++)
        {
            double rate = 2 * Math.PI * MostRate * r / Rates * _fit.Speed * marksPerTurn;
            if (-rate * phase[0] < 2 * Math.PI * LeastCycles)
                continue;
            for (int i = 0; i < count; i++)
                (sine[i], cosine[i]) = Math.SinCos(rate * phase[i]);
            foreach (double[] term in _law)
            {
                TakeOut(term, sine);
                TakeOut(term, cosine);
            }

            (double ss, double cc, double sc) = (Dot(sine, sine), Dot(cosine, cosine), Dot(sine, cosine));
            (double ys, double yc) = (Dot(_rest, sine), Dot(_rest, cosine));
            double determinant = (ss * cc) - (sc * sc);
            if (determinant < 1e-3 * ss * cc || ss < 1e-3 || cc < 1e-3)
                continue; // at a rate at which the marks see only one of the two
            double bySine = ((ys * cc) - (yc * sc)) / determinant;
            double byCosine = ((yc * ss) - (ys * sc)) / determinant;
            double left = alone - (bySine * ys) - (byCosine * yc);
            if (left < least)
                (least, _rate, _sine, _cosine) = (left, rate, bySine, byCosine);
        }
    }

    private double Speed(double atS) => _fit.Speed + (_fit.Acceleration * (atS - _toS));

    // ∫dt/ω from the last mark on, times the speed there: for a speed that falls evenly a logarithm.
    private double Phase(double atS)
    {
        double change = Speed(atS) / _fit.Speed;
        return Math.Abs(change - 1) < 1e-6 ? atS - _toS : (atS - _toS) * Math.Log(change) / (change - 1);
    }

    private static void TakeOut(double[] term, double[] from)
    {
        double share = Dot(term, from);
        for (int i = 0; i < from.Length; i++)
            from[i] -= share * term[i];
    }

    private static double Dot(double[] a, double[] b)
    {
        double sum = 0;
        for (int i = 0; i < a.Length; i++)
            sum += a[i] * b[i];
        return sum;
    }
}
