namespace Acquire.Acquisition.Air;

/// <summary>What one look at a sensor of the air gave; NaN where the sensor has none, or gave nonsense.</summary>
/// <param name="TemperatureC">Temperature, °C.</param>
/// <param name="PressureHPa">Absolute pressure, hPa.</param>
/// <param name="HumidityPct">Relative humidity, percent.</param>
public readonly record struct AirReading(double TemperatureC, double PressureHPa, double HumidityPct)
{
    /// <summary>Nothing known.</summary>
    public static readonly AirReading None = new(double.NaN, double.NaN, double.NaN);

    /// <summary>True where nothing is known.</summary>
    public bool IsEmpty => double.IsNaN(TemperatureC) && double.IsNaN(PressureHPa) && double.IsNaN(HumidityPct);
}

/// <summary>A sensor of the air. Used by one thread.</summary>
public interface IAirSensor : IDisposable
{
    /// <summary>Measures. May wait for the sensor for some tens of milliseconds, longer where the bus is stuck.</summary>
    /// <exception cref="AirSensorException">It did not answer, or what it answered cannot be trusted.</exception>
    AirReading Read();

    /// <summary>Every byte of the last measurement as it came: a sensor that lives never gives the same ones for long.</summary>
    ReadOnlySpan<byte> LastBytes { get; }
}

/// <summary>Why a sensor of the air gave no reading: what is wrong and what to do about it, in one line for people.</summary>
public sealed class AirSensorException(string message, Exception? inner = null) : Exception(message, inner);
