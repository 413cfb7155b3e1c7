using System.Device.I2c;
using Iot.Device.Sht3x;
using Iot.Device.Sht4x;

namespace Acquire.Acquisition.Air;

/// <summary>An SHT3x or SHT4x. Every word that it sends is held against its check sum.</summary>
internal sealed class SensirionAirSensor : IAirSensor
{
    private const int AnswerBytes = 6; // temperature, check, humidity, check
    private const int SettleMs = 5;    // after the reset that the drivers begin with the chips are deaf for up to 1.5 ms (SHT3x data sheet, table 5, from memory)
    private readonly CheckedI2cDevice _device;
    private readonly IDisposable _driver;
    private readonly Func<AirReading> _read;
    private byte[] _last = [];

    private SensirionAirSensor(CheckedI2cDevice device, IDisposable driver, Func<AirReading> read) => (_device, _driver, _read) = (device, driver, read);

    /// <inheritdoc/>
    public ReadOnlySpan<byte> LastBytes => _last;

    /// <summary>Resets the chip.</summary>
    /// <exception cref="IOException">Nothing answers.</exception>
    public static SensirionAirSensor Open(AirSensorName name, I2cDevice bus)
    {
        var device = new CheckedI2cDevice(bus, Check);
        using var settled = new ManualResetEventSlim();
        if (name.Kind == AirSensorKind.Sht3x)
        {
            var sht3x = new Sht3x(device);
            settled.Wait(SettleMs);
            return new SensirionAirSensor(device, sht3x, () => new AirReading(sht3x.Temperature.DegreesCelsius, double.NaN, sht3x.Humidity.Percent));
        }

        var sht4x = new Sht4x(device);
        settled.Wait(SettleMs);
        return new SensirionAirSensor(device, sht4x, () =>
        {
            var (humidity, temperature) = sht4x.ReadHumidityAndTemperature();
            return new AirReading(temperature?.DegreesCelsius ?? double.NaN, double.NaN, humidity?.Percent ?? double.NaN);
        });
    }

    /// <summary>The check sum of a word: CRC-8, polynomial 0x31, beginning with 0xFF (Sensirion, SHT3x-DIS data sheet, version 5, table 20).</summary>
    internal static byte CheckSum(ReadOnlySpan<byte> word)
    {
        int crc = 0xFF;
        foreach (byte b in word)
        {
            crc ^= b;
            for (int i = 0; i < 8; i++)
                crc = ((crc & 0x80) != 0 ? (crc << 1) ^ 0x31 : crc << 1) & 0xFF;
        }

        return (byte)crc;
    }

    /// <inheritdoc/>
    public AirReading Read()
    {
        _device.Forget();
        try
        {
            return _read();
        }
        finally
        {
            _last = _device.Answers;
        }
    }

    /// <inheritdoc/>
    public void Dispose() => _driver.Dispose();

    private static void Check(int register, ReadOnlySpan<byte> answer)
    {
        for (int at = 0; answer.Length == AnswerBytes && at < AnswerBytes; at += 3)
        {
            if (CheckSum(answer.Slice(at, 2)) != answer[at + 2])
                throw new AirSensorException("a check sum failed: check its wires, shorten them, or slow the bus down");
        }
    }
}
