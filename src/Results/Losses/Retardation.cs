namespace Acquire.Results.Losses;

/// <summary>The retardation method: what brakes a body that runs down is told from how fast it slows (IEC 60034-2-2, IEEE 115). P = −Jω dω/dt.</summary>
public static class Retardation
{
    private const double RadPerSPerRpm = Math.PI / 30;

    /// <summary>Power taken from a body that slows, W.</summary>
    /// <param name="inertiaKgM2">Moment of inertia about its axis, kg m².</param>
    /// <param name="rpm">Speed, turns a minute.</param>
    /// <param name="decelRpmPerS">Deceleration, rpm/s.</param>
    public static double PowerW(double inertiaKgM2, double rpm, double decelRpmPerS) =>
        TorqueNm(inertiaKgM2, decelRpmPerS) * rpm * RadPerSPerRpm;

    /// <summary>Torque on a body that slows, N m.</summary>
    /// <param name="inertiaKgM2">Moment of inertia about its axis, kg m².</param>
    /// <param name="decelRpmPerS">Deceleration, rpm/s.</param>
    public static double TorqueNm(double inertiaKgM2, double decelRpmPerS) => inertiaKgM2 * decelRpmPerS * RadPerSPerRpm;

    /// <summary>Moment of inertia from two run-downs through the same speeds, one of them with a known power taken besides, kg m².</summary>
    /// <param name="extraW">The power taken besides, W, mean over the interval.</param>
    /// <param name="fromRpm">The higher speed.</param>
    /// <param name="toRpm">The lower speed.</param>
    /// <param name="timeS">Time between them without it.</param>
    /// <param name="timeWithS">Time between them with it: shorter.</param>
    public static double InertiaKgM2(double extraW, double fromRpm, double toRpm, double timeS, double timeWithS)
    {
        ArgumentOutOfRangeException.ThrowIfLessThanOrEqual(fromRpm, toRpm);
        ArgumentOutOfRangeException.ThrowIfLessThanOrEqual(timeS, timeWithS);
        double middle = 0.5 * (fromRpm + toRpm);
        return extraW / (PowerW(1, middle, (fromRpm - toRpm) / timeWithS) - PowerW(1, middle, (fromRpm - toRpm) / timeS));
    }
}
