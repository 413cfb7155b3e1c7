namespace Acquire.Results.Air;

/// <summary>Density and viscosity of air at one temperature, pressure and humidity.</summary>
/// <remarks>
/// Density by the equation CIPM-2007 (Picard, Davis, Gläser, Fujii, Metrologia 45 (2008) 149) with its own gas constant and a mole fraction of carbon dioxide
/// of 0.0004; made for 15 to 27 °C and 600 to 1100 hPa, where its own standard uncertainty is 22 parts in a million (from memory). Viscosity by
/// Sutherland's equation with the constants of the US Standard Atmosphere 1976, equation 51: of dry air; moist air at room temperature is less viscous by well under one percent.
/// </remarks>
public sealed record MoistAir
{
    /// <summary>Relative standard uncertainty of the equation for the density within its limits (from memory).</summary>
    public const double UEquation = 22e-6;

    private const double GasConstant = 8.314472;
    private const double VapourKgPerMol = 18.01528e-3;
    private const double CarbonDioxide = 0.0004;
    private const double DryKgPerMol = (28.96546 + (12.011 * (CarbonDioxide - 0.0004))) * 1e-3;
    private const double ZeroK = 273.15;

    private MoistAir(double temperatureC, double pressurePa, double humidity)
    {
        (TemperatureC, PressurePa, Humidity) = (temperatureC, pressurePa, humidity);
        VapourFraction = humidity * Enhancement(temperatureC, pressurePa) * SaturationPa(temperatureC) / pressurePa;
        Compressibility = Squeezed(temperatureC, pressurePa, VapourFraction);
        double t = temperatureC + ZeroK;
        DensityKgM3 = pressurePa * DryKgPerMol / (Compressibility * GasConstant * t) * (1 - (VapourFraction * (1 - (VapourKgPerMol / DryKgPerMol))));
        ViscosityPaS = Viscosity(temperatureC);
    }

    /// <summary>Temperature, °C.</summary>
    public double TemperatureC { get; }

    /// <summary>Pressure, Pa.</summary>
    public double PressurePa { get; }

    /// <summary>Relative humidity, 0 to 1.</summary>
    public double Humidity { get; }

    /// <summary>Mole fraction of water vapour.</summary>
    public double VapourFraction { get; }

    /// <summary>Compressibility factor Z.</summary>
    public double Compressibility { get; }

    /// <summary>Density, kg/m³.</summary>
    public double DensityKgM3 { get; }

    /// <summary>Dynamic viscosity, Pa s.</summary>
    public double ViscosityPaS { get; }

    /// <summary>Kinematic viscosity, m²/s.</summary>
    public double KinematicViscosityM2S => ViscosityPaS / DensityKgM3;

    /// <summary>True within the limits for which the equation for the density was made.</summary>
    public bool IsWithinEquation => TemperatureC is >= 15 and <= 27 && PressurePa is >= 60_000 and <= 110_000;

    /// <summary>Works it out.</summary>
    /// <param name="temperatureC">°C, from −100 to 100.</param>
    /// <param name="pressurePa">Pa, more than 0.</param>
    /// <param name="humidity">Relative humidity, 0 to 1.</param>
    /// <returns>Null where there would be more vapour than the pressure allows: no such air can be.</returns>
    public static MoistAir? Of(double temperatureC, double pressurePa, double humidity)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(temperatureC, -100);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(temperatureC, 100);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(pressurePa);
        ArgumentOutOfRangeException.ThrowIfNegative(humidity);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(humidity, 1);
        var air = new MoistAir(temperatureC, pressurePa, humidity);
        return air.VapourFraction < 1 ? air : null;
    }

    /// <summary>Vapour pressure at saturation, Pa.</summary>
    /// <param name="temperatureC">°C.</param>
    public static double SaturationPa(double temperatureC)
    {
        double t = temperatureC + ZeroK;
        return Math.Exp((1.2378847e-5 * t * t) - (1.9121316e-2 * t) + 33.93711047 - (6.3431645e3 / t));
    }

    /// <summary>Dynamic viscosity of dry air, Pa s.</summary>
    /// <param name="temperatureC">°C.</param>
    public static double Viscosity(double temperatureC)
    {
        double t = temperatureC + ZeroK;
        return 1.458e-6 * t * Math.Sqrt(t) / (t + 110.4);
    }

    /// <summary>Standard uncertainties of density and viscosity from the limits within which the instruments are known to be right, taken as even spreads
    /// (half-width over √3; JCGM 100:2008, 4.3.7), with that of the equation for the density.</summary>
    /// <param name="limitC">Limit of the temperature, K.</param>
    /// <param name="limitPa">Limit of the pressure, Pa.</param>
    /// <param name="limitHumidity">Limit of the relative humidity, 0 to 1.</param>
    public (double UDensityKgM3, double UViscosityPaS) Uncertainty(double limitC, double limitPa, double limitHumidity)
    {
        const double Step = 1e-3;
        double byC = (new MoistAir(TemperatureC + Step, PressurePa, Humidity).DensityKgM3 - new MoistAir(TemperatureC - Step, PressurePa, Humidity).DensityKgM3) / (2 * Step);
        double byPa = DensityKgM3 / PressurePa;
        double byHumidity = new MoistAir(TemperatureC, PressurePa, 1).DensityKgM3 - new MoistAir(TemperatureC, PressurePa, 0).DensityKgM3;
        double spread = (Square(byC * limitC) + Square(byPa * limitPa) + Square(byHumidity * limitHumidity)) / 3;
        double viscosityByC = (Viscosity(TemperatureC + Step) - Viscosity(TemperatureC - Step)) / (2 * Step);
        return (Math.Sqrt(spread + Square(UEquation * DensityKgM3)), Math.Abs(viscosityByC) * limitC / Math.Sqrt(3));
    }

    private static double Enhancement(double temperatureC, double pressurePa) => 1.00062 + (3.14e-8 * pressurePa) + (5.6e-7 * temperatureC * temperatureC);

    private static double Squeezed(double t, double p, double xv)
    {
        double perK = p / (t + ZeroK);
        double first = 1.58123e-6 - (2.9331e-8 * t) + (1.1043e-10 * t * t) + ((5.707e-6 - (2.051e-8 * t)) * xv) + ((1.9898e-4 - (2.376e-6 * t)) * xv * xv);
        return 1 - (perK * first) + (perK * perK * (1.83e-11 - (0.765e-8 * xv * xv)));
    }

    private static double Square(double x) => x * x;
}
