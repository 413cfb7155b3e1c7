using Acquire.Results.Fitting;

namespace Acquire.Results.Losses;

/// <summary>What a law must explain: angles of marks, or speeds, each with its weight.</summary>
internal sealed class LawProblem
{
    private readonly double[] _timeS;
    private readonly double[] _data;
    private readonly double[] _roots;
    private readonly int[]? _segments;
    private readonly LawCurve? _reference;

    /// <summary>Makes one.</summary>
    /// <param name="timeS">When.</param>
    /// <param name="data">Speeds, rad/s; or angles, rad, less those of the reference curve.</param>
    /// <param name="sigma">Scatter of each.</param>
    /// <param name="segments">Of angles: which unbroken stretch each belongs to; each stretch has an angle of its own. Null for speeds.</param>
    /// <param name="reference">Of angles: the curve that they are less by; null where they are whole.</param>
    /// <param name="span">Where the curve begins and ends.</param>
    public LawProblem(double[] timeS, double[] data, double[] sigma, int[]? segments, LawCurve? reference, (double FromS, double ToS) span)
    {
        (_timeS, _data, _segments, _reference, Span) = (timeS, data, segments, reference, span);
        _roots = [.. sigma.Select(s => 1 / s)];
    }

    /// <summary>Where the curve begins and ends, s.</summary>
    public (double FromS, double ToS) Span { get; }

    /// <summary>How many data.</summary>
    public int Count => _data.Length;

    /// <summary>Follows a spin over the whole of it; null where there is none.</summary>
    public LawCurve? Curve(double[] exponents, double[] parameters)
    {
        const int Steps = 2000;
        return LawCurve.Of(exponents, parameters, Span.FromS, Span.ToS, Steps);
    }

    /// <summary>Finds the law of these exponents that explains best, whatever the signs of its coefficients.</summary>
    /// <param name="exponents">The exponents.</param>
    /// <param name="start">Speed at the start and a coefficient for each, to begin from.</param>
    public GaussNewton.Found? Solve(double[] exponents, double[] start) =>
        GaussNewton.Minimise(p => At(exponents, p), start, tolerance: 1e-9);

    /// <summary>What a law leaves of the data, and how that changes with its parameters, all over the scatter; null where there is none.</summary>
    internal GaussNewton.Place? At(double[] exponents, double[] parameters)
    {
        if (Curve(exponents, parameters) is not { } curve)
            return null;
        double[] left = new double[Count];
        for (int i = 0; i < left.Length; i++)
        {
            left[i] = _segments is null
                ? _data[i] - curve.Speed(_timeS[i])
                : _data[i] - (curve.Angle(_timeS[i]) - (_reference?.Angle(_timeS[i]) ?? 0));
        }

        double[][] slopes = new double[parameters.Length][];
        for (int k = 0; k < slopes.Length; k++)
        {
            slopes[k] = new double[Count];
            for (int i = 0; i < Count; i++)
                slopes[k][i] = _segments is null ? curve.SpeedSlope(k, _timeS[i]) : curve.AngleSlope(k, _timeS[i]);
            Weigh(slopes[k]);
        }

        Weigh(left);
        return new GaussNewton.Place(left, slopes);
    }

    /// <summary>Puts values, one for each datum, over the scatter.</summary>
    /// <remarks>To take the weighted mean off each stretch is to fit an angle of its own to it (Frisch and Waugh 1933).</remarks>
    internal void Weigh(double[] values)
    {
        for (int from = 0; _segments is not null && from < values.Length;)
        {
            int to = from;
            (double sum, double weights) = (0, 0);
            for (; to < values.Length && _segments[to] == _segments[from]; to++)
            {
                double weight = _roots[to] * _roots[to];
                sum += weight * values[to];
                weights += weight;
            }

            double mean = sum / weights;
            for (; from < to; from++)
                values[from] -= mean;
        }

        for (int i = 0; i < values.Length; i++)
            values[i] *= _roots[i];
    }
}
