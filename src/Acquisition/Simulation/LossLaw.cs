namespace Acquire.Acquisition.Simulation;

/// <summary>The deceleration of a plan and its integrals over speed, by Gauss-Legendre quadrature in narrow panels: no error of
/// stepping through time adds up.</summary>
internal sealed class LossLaw
{
    /// <summary>Ratio of the speeds at the ends of a panel.</summary>
    internal const double PanelRatio = 0.995;

    // Nodes and weights of the 8-point rule on [-1, 1] (Abramowitz and Stegun, table 25.4).
    private static readonly double[] Nodes = [0.1834346424956498, 0.5255324099163290, 0.7966664774136267, 0.9602898564975363];
    private static readonly double[] Weights = [0.3626837833783620, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763];

    private readonly LossTerm[] _terms;
    private readonly double _reference;
    private readonly CoverEffect? _cover;

    internal LossLaw(SpinPlan plan)
    {
        _terms = [.. plan.Loss];
        _reference = SpinUnits.RadPerS(plan.ReferenceRpm);
        _cover = plan.Cover;
    }

    /// <summary>Deceleration at a speed, rad/s².</summary>
    internal double Deceleration(double radPerS)
    {
        double ratio = radPerS / _reference;
        double left = _cover is { } cover ? 1 - (cover.Cut / (1 + Math.Pow(SpinUnits.RadPerS(cover.AboveRpm) / radPerS, cover.Sharpness))) : 1;
        double sum = 0;
        foreach (LossTerm term in _terms)
            sum += term.DecelerationRadPerS2 * Power(ratio, term.Exponent) * (term.Exponent > 1 ? left : 1);
        return sum;
    }

    /// <summary>Time and angle that pass, and the integral of 1/ω over that time, between two speeds close together.</summary>
    internal (double TimeS, double AngleRad, double InverseSpeed) Panel(double fromRadPerS, double toRadPerS)
    {
        double half = (fromRadPerS - toRadPerS) / 2;
        double middle = (fromRadPerS + toRadPerS) / 2;
        double time = 0;
        double angle = 0;
        double inverse = 0;
        for (int i = 0; i < Nodes.Length; i++)
        {
            for (int sign = -1; sign <= 1; sign += 2)
            {
                double omega = middle + (sign * half * Nodes[i]);
                double share = half * Weights[i] / Deceleration(omega);
                time += share;
                angle += share * omega;
                inverse += share / omega;
            }
        }

        return (time, angle, inverse);
    }

    /// <summary>Time from one speed down to another, s.</summary>
    internal double TimeBetween(double fromRadPerS, double toRadPerS)
    {
        double time = 0;
        for (double omega = fromRadPerS; omega > toRadPerS;)
        {
            double next = NextSpeed(omega, fromRadPerS, toRadPerS);
            time += Panel(omega, next).TimeS;
            omega = next;
        }

        return time;
    }

    /// <summary>The speed at the end of the panel that begins at <paramref name="omega"/>. Speeds below a ten-thousandth of the first
    /// are one panel down to rest.</summary>
    internal static double NextSpeed(double omega, double first, double last)
    {
        double next = omega * PanelRatio;
        if (next < first * 1e-4)
            next = 0;
        return Math.Max(next, last);
    }

    private static double Power(double ratio, double exponent) => exponent switch
    {
        0 => 1,
        1 => ratio,
        1.5 => ratio * Math.Sqrt(ratio),
        2 => ratio * ratio,
        _ => Math.Pow(ratio, exponent),
    };
}
