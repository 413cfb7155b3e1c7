using System.Device.I2c;

namespace Acquire.Acquisition.Air;

/// <summary>Opens sensors of the air.</summary>
public static class AirSensors
{
    /// <summary>Opens a sensor on this computer's bus.</summary>
    /// <exception cref="AirSensorException">It cannot be: why, and what to do.</exception>
    public static IAirSensor Open(AirSensorName name)
    {
        ArgumentNullException.ThrowIfNull(name);
        return Open(name, OpenBus);
    }

    /// <summary>Opens a sensor on a bus.</summary>
    /// <param name="name">The sensor.</param>
    /// <param name="openBus">Gives the device at an address of a bus.</param>
    /// <exception cref="AirSensorException">It cannot be opened: why, and what to do.</exception>
    internal static IAirSensor Open(AirSensorName name, Func<I2cConnectionSettings, I2cDevice> openBus)
    {
        ArgumentNullException.ThrowIfNull(name);
        ArgumentNullException.ThrowIfNull(openBus);
        I2cDevice? device = null;
        try
        {
            device = openBus(new I2cConnectionSettings(name.Bus, name.Address));
            return name.Kind is AirSensorKind.Bme280 or AirSensorKind.Bmp280 ? BoschAirSensor.Open(name, device) : SensirionAirSensor.Open(name, device);
        }
        catch (Exception e)
        {
            device?.Dispose();
            if (e is AirSensorException)
                throw;
            throw new AirSensorException(Explain(name, e), e);
        }
    }

    /// <summary>What a driver's exception comes to, for people.</summary>
    internal static string Explain(AirSensorName name, Exception e) => e switch
    {
        AirSensorException => e.Message,
        IOException => $"nothing answers at address 0x{name.Address:x2} of bus {name.Bus}: check wires, supply and address",
        _ => e.Message.ReplaceLineEndings(" "),
    };

    private static I2cDevice OpenBus(I2cConnectionSettings settings)
    {
        if (OperatingSystem.IsLinux())
            LookForBus($"/dev/i2c-{settings.BusId}");
        return I2cDevice.Create(settings);
    }

    // The library tells an error number only.
    private static void LookForBus(string path)
    {
        if (!File.Exists(path))
            throw new AirSensorException($"there is no bus {path}: switch I2C on (on a Pi: sudo raspi-config nonint do_i2c 0) or name another bus");
        try
        {
            using Microsoft.Win32.SafeHandles.SafeFileHandle handle = File.OpenHandle(path, FileMode.Open, FileAccess.ReadWrite, FileShare.ReadWrite);
        }
        catch (UnauthorizedAccessException e)
        {
            throw new AirSensorException(
                LinkProblem.GroupOf(path) is { } group and not "root"
                    ? $"{path} may not be opened by this user: join group {group} (sudo usermod -aG {group} $USER, then log in again)"
                    : $"{path} may not be opened by this user",
                e);
        }
    }
}
