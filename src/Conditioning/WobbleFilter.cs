namespace Acquire.Conditioning;

/// <summary>A Kalman filter on turn angle, speed, acceleration and the two quadratures of a wobble that carries the marks to and fro at a
/// rate in inverse proportion to the speed, as a top's slow precession does.</summary>
/// <param name="constantPerS2">Wobbles a second times turns a second.</param>
internal sealed class WobbleFilter(double constantPerS2)
{
    private const int N = 5;
    private const double Bend = 0.03;        // of itself the acceleration may change a second
    private const double LeastBend = 1e-3;   // turns/s² a second
    private const double Growth = 0.2;       // of itself the wobble may change a second
    private const double LeastGrowth = 2e-4; // turns a second
    private readonly double[] _x = new double[N];
    private readonly double[] _p = new double[N * N];
    private readonly double[] _f = new double[N * N];
    private readonly double[] _t = new double[N * N];
    private readonly double[] _gain = new double[N];

    /// <summary>Turn angle without the wobble.</summary>
    public double Angle => _x[0];

    /// <summary>Turns a second, without the wobble.</summary>
    public double Speed => _x[1];

    /// <summary>How far the wobble carries the marks forward, turns.</summary>
    public double Wobble => _x[3];

    /// <summary>Turn angle at which the sensor sees the body.</summary>
    public double Seen => _x[0] + _x[3];

    /// <summary>How fast the marks pass, turns a second.</summary>
    public double SeenSpeed => _x[1] + (Rate * _x[4]);

    /// <summary>Variance of <see cref="Seen"/>, turns².</summary>
    public double Variance => _p[0] + (2 * _p[3]) + _p[(3 * N) + 3];

    private double Rate => 2 * Math.PI * constantPerS2 / Math.Max(_x[1], 0.1);

    /// <summary>Starts at an angle and a speed.</summary>
    public void Begin(double angle, double speed, double acceleration)
    {
        Array.Clear(_p);
        (_x[0], _x[1], _x[2], _x[3], _x[4]) = (angle, speed, acceleration, 0, 0);
        _p[0] = 1e-4;
        _p[N + 1] = 1e-4 * speed * speed;
        _p[(2 * N) + 2] = (acceleration * acceleration) + (4e-4 * speed * speed);
        _p[(3 * N) + 3] = 1e-4;
        _p[(4 * N) + 4] = 1e-4;
    }

    /// <summary>Says that after a gap the body is at another angle than foretold, and where in its wobble nobody knows.</summary>
    public void Resume(double angle)
    {
        double wobble = (_x[3] * _x[3]) + (_x[4] * _x[4]) + 1e-5;
        (_x[0], _x[3], _x[4]) = (angle, 0, 0);
        for (int i = 0; i < N; i++)
        {
            foreach (int k in (ReadOnlySpan<int>)[0, 3, 4])
                (_p[(i * N) + k], _p[(k * N) + i]) = (0, 0);
        }

        (_p[0], _p[(3 * N) + 3], _p[(4 * N) + 4]) = (wobble, wobble, wobble);
    }

    /// <summary>Says that the body is at another speed than foretold, as after a long gap; it is taken to slow in proportion to it.</summary>
    public void Restate(double speed)
    {
        (_x[1], _x[2]) = (speed, _x[2] * Math.Min(1, speed / Math.Max(_x[1], 1e-3)));
        for (int i = 0; i < N; i++)
        {
            foreach (int k in (ReadOnlySpan<int>)[1, 2])
                (_p[(i * N) + k], _p[(k * N) + i]) = (0, 0);
        }

        (_p[N + 1], _p[(2 * N) + 2]) = (1e-3 * speed * speed, (_x[2] * _x[2]) + (4e-4 * speed * speed));
    }

    /// <summary>Goes on by <paramref name="dt"/> seconds.</summary>
    public void Predict(double dt)
    {
        (double sin, double cos) = Math.SinCos(Rate * dt);
        double half = 0.5 * dt * dt;
        Array.Clear(_f);
        (_f[0], _f[1], _f[2]) = (1, dt, half);
        (_f[N + 1], _f[N + 2]) = (1, dt);
        _f[(2 * N) + 2] = 1;
        (_f[(3 * N) + 3], _f[(3 * N) + 4]) = (cos, sin);
        (_f[(4 * N) + 3], _f[(4 * N) + 4]) = (-sin, cos);
        double size = Math.Sqrt((_x[3] * _x[3]) + (_x[4] * _x[4]));
        (_x[0], _x[1]) = (_x[0] + (_x[1] * dt) + (_x[2] * half), _x[1] + (_x[2] * dt));
        (_x[3], _x[4]) = ((_x[3] * cos) + (_x[4] * sin), (_x[4] * cos) - (_x[3] * sin));
        Spread();
        double grows = (Growth * size) + LeastGrowth;
        double bends = (Bend * Math.Abs(_x[2])) + LeastBend;
        _p[(2 * N) + 2] += bends * bends * dt;
        _p[(3 * N) + 3] += grows * grows * dt;
        _p[(4 * N) + 4] += grows * grows * dt;
    }

    /// <summary>Takes in an angle that was seen.</summary>
    /// <param name="residual">Seen less foretold, turns.</param>
    /// <param name="variance">Variance of what was seen, turns².</param>
    public void Update(double residual, double variance)
    {
        double s = Variance + variance;
        for (int i = 0; i < N; i++)
            _gain[i] = (_p[i * N] + _p[(i * N) + 3]) / s;
        for (int i = 0; i < N; i++)
        {
            _x[i] += _gain[i] * residual;
            for (int k = 0; k < N; k++)
                _p[(i * N) + k] -= _gain[i] * _gain[k] * s;
        }
    }

    // P becomes F P Fᵀ.
    private void Spread()
    {
        for (int i = 0; i < N; i++)
        {
            for (int k = 0; k < N; k++)
            {
                double sum = 0;
                for (int j = 0; j < N; j++)
                    sum += _f[(i * N) + j] * _p[(j * N) + k];
                _t[(i * N) + k] = sum;
            }
        }

        for (int i = 0; i < N; i++)
        {
            for (int k = 0; k < N; k++)
            {
                double sum = 0;
                for (int j = 0; j < N; j++)
                    sum += _t[(i * N) + j] * _f[(k * N) + j];
                _p[(i * N) + k] = sum;
            }
        }
    }
}
