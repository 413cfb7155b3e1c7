namespace Acquire.Conditioning;

/// <summary>How a body goes on while nobody sees it: it slows at a rate in proportion to its speed, which meets the present speed and
/// deceleration and, unlike a straight line, never turns backwards.</summary>
internal static class Coasting
{
    /// <summary>Speed after <paramref name="dt"/> seconds, turns a second.</summary>
    public static double Speed(double speed, double acceleration, double dt) =>
        speed <= 0 || acceleration >= 0 ? speed : speed * Math.Exp(acceleration * dt / speed);

    /// <summary>Turns made in <paramref name="dt"/> seconds.</summary>
    public static double Turns(double speed, double acceleration, double dt)
    {
        if (speed <= 0 || acceleration >= 0 || Math.Abs(acceleration * dt) < 1e-3 * speed)
            return dt * (speed + (0.5 * Math.Min(acceleration, 0) * dt));
        double rate = -acceleration / speed;
        return speed / rate * -double.ExpM1(-rate * dt);
    }

    /// <summary>Turns made while the speed fell from one to another: their logarithmic mean times the time.</summary>
    public static double TurnsBetween(double from, double to, double dt)
    {
        if (from <= 0 || to <= 0 || Math.Abs(from - to) < 1e-6 * from)
            return 0.5 * (from + to) * dt;
        return (from - to) / Math.Log(from / to) * dt;
    }

    /// <summary>Standard uncertainty of the turns: what speed and acceleration leave open, and a tenth of what the slowing took for the law
    /// of slowing that is not known.</summary>
    public static double UTurns(double dt, double uSpeed, double uAcceleration, double slowed)
    {
        double bySpeed = uSpeed * dt;
        double byAcceleration = 0.5 * uAcceleration * dt * dt;
        double byLaw = 0.1 * slowed * dt;
        return Math.Sqrt((bySpeed * bySpeed) + (byAcceleration * byAcceleration) + (byLaw * byLaw));
    }
}
