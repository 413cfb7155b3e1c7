namespace Acquire.Conditioning;

/// <summary>A Kalman filter on turn angle, speed and acceleration, the acceleration driven by white jerk. Written out for its three
/// states: it runs at every pulse and must not allocate.</summary>
/// <remarks>Constant-acceleration kinematic model with white jerk: Bar-Shalom, Li, Kirubarajan, Estimation with Applications to
/// Tracking and Navigation (2001), section 6.2.3 (from memory). Units: turns, seconds.</remarks>
public struct TurnFilter
{
    private double _p00;
    private double _p01;
    private double _p02;
    private double _p11;
    private double _p12;
    private double _p22;

    /// <summary>Turn angle, turns.</summary>
    public double Angle { get; private set; }

    /// <summary>Speed, turns a second.</summary>
    public double Speed { get; private set; }

    /// <summary>Acceleration, turns a second squared; negative while slowing.</summary>
    public double Acceleration { get; private set; }

    /// <summary>Variance of the angle, turns squared.</summary>
    public readonly double AngleVariance => _p00;

    /// <summary>Variance of the speed, (turns/s)².</summary>
    public readonly double SpeedVariance => _p11;

    /// <summary>Variance of the acceleration, (turns/s²)².</summary>
    public readonly double AccelerationVariance => _p22;

    /// <summary>Starts from a guess with independent standard uncertainties.</summary>
    public static TurnFilter Begin(
        double angle, double speed, double acceleration, double uAngle, double uSpeed, double uAcceleration) => new()
        {
            Angle = angle,
            Speed = speed,
            Acceleration = acceleration,
            _p00 = uAngle * uAngle,
            _p11 = uSpeed * uSpeed,
            _p22 = uAcceleration * uAcceleration,
        };

    /// <summary>Goes on by <paramref name="dt"/> seconds.</summary>
    /// <param name="dt">Seconds, not negative.</param>
    /// <param name="jerkDensity">Spectral density of the jerk, turns²/s⁵.</param>
    public void Predict(double dt, double jerkDensity)
    {
        double half = 0.5 * dt * dt;
        Angle += (Speed * dt) + (Acceleration * half);
        Speed += Acceleration * dt;

        // F P Fᵀ for F = [1 dt dt²/2; 0 1 dt; 0 0 1], row by row.
        double a0 = _p00 + (dt * _p01) + (half * _p02);
        double a1 = _p01 + (dt * _p11) + (half * _p12);
        double a2 = _p02 + (dt * _p12) + (half * _p22);
        double b1 = _p11 + (dt * _p12);
        double b2 = _p12 + (dt * _p22);
        double q1 = jerkDensity * dt;
        double q2 = q1 * dt;
        double q3 = q2 * dt;
        _p00 = a0 + (dt * a1) + (half * a2) + (q3 * dt * dt / 20);
        _p01 = a1 + (dt * a2) + (q3 * dt / 8);
        _p02 = a2 + (q3 / 6);
        _p11 = b1 + (dt * b2) + (q3 / 3);
        _p12 = b2 + (q2 / 2);
        _p22 += q1;
    }

    /// <summary>Takes in an angle that was seen.</summary>
    /// <param name="residual">Seen less predicted angle, turns.</param>
    /// <param name="variance">Variance of what was seen, turns².</param>
    public void Update(double residual, double variance)
    {
        double s = _p00 + variance;
        double k0 = _p00 / s;
        double k1 = _p01 / s;
        double k2 = _p02 / s;
        Angle += k0 * residual;
        Speed += k1 * residual;
        Acceleration += k2 * residual;
        _p22 -= k2 * _p02;
        _p12 -= k1 * _p02;
        _p11 -= k1 * _p01;
        _p02 -= k0 * _p02;
        _p01 -= k0 * _p01;
        _p00 -= k0 * _p00;
    }

    /// <summary>Says that the acceleration may have changed at once by <paramref name="uAcceleration"/> (a hand letting go).</summary>
    public void Loosen(double uAcceleration) => _p22 += uAcceleration * uAcceleration;

    /// <summary>Shifts the origin of the angle.</summary>
    public void ShiftAngle(double turns) => Angle += turns;
}
