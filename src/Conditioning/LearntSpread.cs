namespace Acquire.Conditioning;

/// <summary>How much larger or smaller errors prove than was foretold, over the last while.</summary>
internal sealed class LearntSpread
{
    private const double PriorCases = 2;      // independent cases that count for the forecast itself, the less the more were seen
    private const double PriorFades = 6;
    private const double MemoryCases = 20;
    private const double LeastMemoryS = 12;
    private const double LeastSpread = 0.02;
    private const double Normal = 3;
    private const double Swing = 1.5;
    private const double SwingShare = 0.28;   // 1 − 1.41/1.96
    private const double ShapeCases = 3;      // a fourth moment is known later
    private double _sum;
    private double _fourth;
    private double _seconds;
    private double _caseS = 1;

    /// <summary>By how much a forecast standard uncertainty is stretched, so that 1.96 of it is a 95 % interval though it was itself learnt from
    /// few cases (Student's t, to 1 % from two degrees of freedom up).</summary>
    public double Stretch
    {
        get
        {
            double few = 1 / (PriorCases + Cases);
            return Math.Sqrt(MeanSquare) * (1 + (1.25 * few) + (1.7 * few * few)) * Shape;
        }
    }

    /// <summary>Mean square of the errors over the variances that were foretold.</summary>
    public double MeanSquare => Math.Max(LeastSpread, (Prior + (_sum / _caseS)) / (Prior + Cases));

    /// <summary>How much is still to be learnt: 1 at first, little once some independent errors were seen.</summary>
    public double Unlearnt => Math.Max(0, 1 - (Cases / 4));

    // 95 % of normal errors lie within 1.96 of their root mean square, and 95 % of a wobble's, which swings evenly, within √2 sin(0.95 π/2):
    // the fourth moment, 3 and 1.5 times the square of the second, tells which it is.
    private double Shape
    {
        get
        {
            double mean = _sum / Math.Max(_seconds, 1e-9);
            double kurtosis = _fourth / Math.Max(_seconds * mean * mean, 1e-30);
            double sure = Cases / (Cases + ShapeCases);
            return 1 - (SwingShare * sure * Math.Clamp((Normal - kurtosis) / (Normal - Swing), 0, 1));
        }
    }

    private double Prior => PriorCases / (1 + (Cases / PriorFades));

    private double Cases => _seconds / _caseS;

    /// <summary>Forgets.</summary>
    public void Reset() => (_sum, _fourth, _seconds) = (0, 0, 0);

    /// <summary>Learns from an error.</summary>
    /// <param name="error">By how much it was off.</param>
    /// <param name="variance">The variance that was foretold.</param>
    /// <param name="forS">How long it stands for, seconds.</param>
    /// <param name="caseS">Errors so far apart have little to do with each other, seconds.</param>
    public void Learn(double error, double variance, double forS, double caseS)
    {
        double keep = Math.Exp(-forS / Math.Max(LeastMemoryS, MemoryCases * caseS));
        double square = Math.Min(error * error / variance, 1e4);
        _sum = (_sum * keep) + (forS * square);
        _fourth = (_fourth * keep) + (forS * square * square);
        _seconds = (_seconds * keep) + forS;
        _caseS = caseS;
    }
}
