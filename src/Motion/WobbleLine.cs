using System.Numerics;
using MathNet.Numerics.IntegralTransforms;

namespace Acquire.Motion;

/// <summary>Looks for a line in what a smooth decay leaves of the marks: a wobble whose rate is a constant over the speed has one
/// frequency in the stretched time ∫dt/n, n the speed in turns a second.</summary>
/// <remarks>Periodogram: Lomb 1976, Scargle 1982; for white noise the power over its mean is exponential (from memory).</remarks>
internal static class WobbleLine
{
    private const double MostConstant = 60;   // 1/s²; a top falls at n² ≥ 2·constant·I1/I3, so that more belongs to bodies over 500 rpm
    private const int LeastCycles = 2;        // in each piece of the curve: fewer are the curve's own
    private const double Slowest = 0.1;       // turns a second
    private const double FalseAlarm = 1e-5;
    private const int MostBins = 1 << 19;

    /// <summary>Stretched time of each mark, s² a turn, from the first.</summary>
    public static double[] Stretched(MarkSeries marks, DecayCurve curve)
    {
        double[] stretched = new double[marks.Count];
        int near = 0;
        double last = 0;
        double lastSlope = 0;
        for (int i = 0; i < marks.Count; i++)
        {
            double speed = curve.Speed(marks.TimeS[i], ref near);
            double inverse = 1 / Math.Max(speed, Slowest); // of marks that were judged wrong the curve may even turn back
            double slope = -curve.Acceleration(marks.TimeS[i], ref near) * inverse * inverse;
            if (i > 0)
            {
                double dt = marks.TimeS[i] - marks.TimeS[i - 1];
                stretched[i] = stretched[i - 1] + Math.Max(0, (0.5 * dt * (last + inverse)) + (dt * dt * (lastSlope - slope) / 12));
            }

            (last, lastSlope) = (inverse, slope);
        }

        return stretched;
    }

    /// <summary>Precession constant of the strongest line; NaN where none stands out.</summary>
    /// <param name="stretched">Stretched time of each mark.</param>
    /// <param name="left">What the curve leaves, turns.</param>
    /// <param name="speeds">Rough speed at each mark.</param>
    /// <param name="pieces">Pieces of the curve.</param>
    public static double Find(double[] stretched, double[] left, double[] speeds, int pieces)
    {
        double span = stretched[^1];
        if (!(span > 0))
            return double.NaN;
        double most = Math.Min(MostConstant, MostBins / (5 * span));
        int bins = (int)BitOperations.RoundUpToPowerOf2((uint)Math.Max(64, Math.Ceiling(5 * most * span)));
        double step = span * 2 / bins;
        var data = new Complex[bins];
        double noise = 0;
        for (int i = 0; i < left.Length; i++)
        {
            double value = left[i] / (speeds[i] * speeds[i]);
            data[(int)(stretched[i] / step)] += value;
            noise += value * value;
        }

        Fourier.Forward(data, FourierOptions.NoScaling);
        int from = (int)Math.Ceiling(LeastCycles * pieces * 2.0);
        int to = Math.Min(bins / 2, (int)(most * bins * step));
        int best = from;
        for (int k = from; k < to; k++)
        {
            if (data[k].MagnitudeSquared() > data[best].MagnitudeSquared())
                best = k;
        }

        bool stands = to > from && data[best].MagnitudeSquared() / noise > Math.Log((to - from) / FalseAlarm);
        return stands ? best / (bins * step) : double.NaN;
    }

    private static double MagnitudeSquared(this Complex z) => (z.Real * z.Real) + (z.Imaginary * z.Imaginary);
}
