namespace Acquire.Conditioning;

/// <summary>How much larger or smaller errors prove than was foretold, over the last while.</summary>
internal sealed class LearntSpread
{
    private const double PriorCases = 2;      // independent cases that count for the forecast itself, the less the more were seen
    private const double PriorFades = 6;
    private const double MemoryCases = 20;
    private const double LeastMemoryS = 12;
    private const double LeastSpread = 0.02;
    private double _sum;
    private double _seconds;
    private double _caseS = 1;

    /// <summary>By how much a forecast standard uncertainty is stretched, so that 1.96 of it is a 95 % interval though it was itself learnt from
    /// few cases (Student's t, to 1 % from two degrees of freedom up).</summary>
    public double Stretch
    {
        get
        {
            double few = 1 / (PriorCases + Cases);
            return Math.Sqrt(MeanSquare) * (1 + (1.25 * few) + (1.7 * few * few));
        }
    }

    /// <summary>Mean square of the errors over the variances that were foretold.</summary>
    public double MeanSquare => Math.Max(LeastSpread, (Prior + (_sum / _caseS)) / (Prior + Cases));

    private double Prior => PriorCases / (1 + (Cases / PriorFades));

    private double Cases => _seconds / _caseS;

    /// <summary>Forgets.</summary>
    public void Reset() => (_sum, _seconds) = (0, 0);

    /// <summary>Learns from an error.</summary>
    /// <param name="error">By how much it was off.</param>
    /// <param name="variance">The variance that was foretold.</param>
    /// <param name="forS">How long it stands for, seconds.</param>
    /// <param name="caseS">Errors so far apart have little to do with each other, seconds.</param>
    public void Learn(double error, double variance, double forS, double caseS)
    {
        double keep = Math.Exp(-forS / Math.Max(LeastMemoryS, MemoryCases * caseS));
        _sum = (_sum * keep) + (forS * Math.Min(error * error / variance, 1e4));
        _seconds = (_seconds * keep) + forS;
        _caseS = caseS;
    }
}
