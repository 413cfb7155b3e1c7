namespace Acquire.Results.Losses;

/// <summary>A spin by a loss law: angle and speed against time on an even grid, and how both change with the law. In radians and seconds.</summary>
/// <remarks>The classic fourth-order Runge-Kutta method. A change of a coefficient moves the speed by −f ∫ g/f dt, since the law is the same at
/// all times: a spin moved in time solves the same equation.</remarks>
internal sealed class LawCurve
{
    private readonly double _fromS;
    private readonly double _stepS;
    private readonly double[] _angle;
    private readonly double[] _speed;
    private readonly double[] _fall;
    private readonly double[][] _speedSlopes;
    private readonly double[][] _angleSlopes;

    private LawCurve(double fromS, double stepS, int steps, int terms)
    {
        (_fromS, _stepS) = (fromS, stepS);
        _angle = new double[steps + 1];
        _speed = new double[steps + 1];
        _fall = new double[steps + 1];
        _speedSlopes = [.. Enumerable.Range(0, terms + 1).Select(_ => new double[steps + 1])];
        _angleSlopes = [.. Enumerable.Range(0, terms + 1).Select(_ => new double[steps + 1])];
    }

    /// <summary>Follows a spin.</summary>
    /// <param name="exponents">The law's exponents.</param>
    /// <param name="parameters">Speed at the start, rad/s, then a coefficient for each exponent.</param>
    /// <param name="fromS">The start; the angle is 0 there.</param>
    /// <param name="toS">The end.</param>
    /// <param name="steps">Steps of the grid.</param>
    /// <returns>Null where the body would stand still or speed up on the way.</returns>
    public static LawCurve? Of(double[] exponents, double[] parameters, double fromS, double toS, int steps)
    {
        double h = (toS - fromS) / steps;
        var curve = new LawCurve(fromS, h, steps, exponents.Length);
        double speed = parameters[0];
        for (int i = 0; ; i++)
        {
            double k1 = Fall(exponents, parameters, speed);
            if (!(speed > 0) || !(k1 > 0))
                return null;
            (curve._speed[i], curve._fall[i]) = (speed, k1);
            if (i == steps)
                return curve.WithSlopes(exponents);
            double k2 = Fall(exponents, parameters, speed - (h / 2 * k1));
            double k3 = Fall(exponents, parameters, speed - (h / 2 * k2));
            double k4 = Fall(exponents, parameters, speed - (h * k3));
            curve._angle[i + 1] = curve._angle[i] + (h * speed) - (h * h / 6 * (k1 + k2 + k3));
            speed -= h / 6 * (k1 + (2 * k2) + (2 * k3) + k4);
        }
    }

    /// <summary>Angle at a moment, rad.</summary>
    public double Angle(double timeS)
    {
        (int i, double s) = Place(timeS);
        double h = _stepS;
        // The quintic that meets angle, speed and deceleration at both ends.
        double a0 = _angle[i];
        double v0 = h * _speed[i];
        double c0 = -h * h * _fall[i];
        double rise = _angle[i + 1] - a0;
        double v1 = h * _speed[i + 1];
        double c1 = -h * h * _fall[i + 1];
        double d = rise - v0 - (c0 / 2);
        double e = v1 - v0 - c0;
        double f = c1 - c0;
        double p3 = (10 * d) - (4 * e) + (f / 2);
        double p4 = (-15 * d) + (7 * e) - f;
        double p5 = (6 * d) - (3 * e) + (f / 2);
        return a0 + (s * (v0 + (s * ((c0 / 2) + (s * (p3 + (s * (p4 + (s * p5)))))))));
    }

    /// <summary>Speed at a moment, rad/s.</summary>
    public double Speed(double timeS)
    {
        (int i, double s) = Place(timeS);
        return Cubic(_speed[i], -_stepS * _fall[i], _speed[i + 1], -_stepS * _fall[i + 1], s);
    }

    /// <summary>How the angle at a moment changes with the speed at the start (0) or with a coefficient (1 and on).</summary>
    public double AngleSlope(int parameter, double timeS)
    {
        (int i, double s) = Place(timeS);
        double[] slopes = _speedSlopes[parameter];
        return Cubic(_angleSlopes[parameter][i], _stepS * slopes[i], _angleSlopes[parameter][i + 1], _stepS * slopes[i + 1], s);
    }

    /// <summary>How the speed at a moment changes with the speed at the start (0) or with a coefficient (1 and on).</summary>
    public double SpeedSlope(int parameter, double timeS)
    {
        (int i, double s) = Place(timeS);
        double[] slopes = _speedSlopes[parameter];
        return slopes[i] + (s * (slopes[i + 1] - slopes[i]));
    }

    private static double Fall(double[] exponents, double[] parameters, double speed)
    {
        double ratio = Math.Max(0, speed / LossLaw.OmegaRefRadPerS);
        double sum = 0;
        for (int k = 0; k < exponents.Length; k++)
            sum += parameters[k + 1] * LossLaw.Power(ratio, exponents[k]);
        return sum;
    }

    private static double Cubic(double y0, double v0, double y1, double v1, double s)
    {
        double rise = y1 - y0;
        return y0 + (s * (v0 + (s * ((3 * rise) - (2 * v0) - v1 + (s * (v0 + v1 - (2 * rise)))))));
    }

    private LawCurve WithSlopes(double[] exponents)
    {
        for (int k = 0; k <= exponents.Length; k++)
        {
            (double[] speed, double[] angle) = (_speedSlopes[k], _angleSlopes[k]);
            (double sum, double before) = (0, 0);
            for (int i = 0; i < speed.Length; i++)
            {
                if (k == 0)
                {
                    speed[i] = _fall[i] / _fall[0];
                }
                else
                {
                    double share = LossLaw.Power(_speed[i] / LossLaw.OmegaRefRadPerS, exponents[k - 1]) / _fall[i];
                    sum += i == 0 ? 0 : _stepS / 2 * (before + share);
                    before = share;
                    speed[i] = -_fall[i] * sum;
                }

                angle[i] = i == 0 ? 0 : angle[i - 1] + (_stepS / 2 * (speed[i - 1] + speed[i]));
            }
        }

        return this;
    }

    private (int Step, double Share) Place(double timeS)
    {
        double x = (timeS - _fromS) / _stepS;
        int i = Math.Clamp((int)x, 0, _speed.Length - 2);
        return (i, x - i);
    }
}
