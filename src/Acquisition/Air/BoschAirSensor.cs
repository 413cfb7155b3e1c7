using System.Device.I2c;
using Iot.Device.Bmxx80;
using Iot.Device.Bmxx80.ReadResult;
using UnitsNet;

namespace Acquire.Acquisition.Air;

/// <summary>A BME280 or BMP280: one forced measurement a reading, so that the chip sleeps, and warms itself as little as may be, in between.</summary>
/// <remarks>Registers, reset values and chip numbers: Bosch BST-BME280-DS002 and BST-BMP280-DS001, sections 4 and 5 (from memory).</remarks>
internal sealed class BoschAirSensor : IAirSensor
{
    private const byte ChipNumber = 0xD0;
    private const byte Pressure = 0xF7;
    private const byte Temperature = 0xFA;
    private const byte Humidity = 0xFD;
    private const byte HumidityWords = 0xE4; // to 0xE6: two signed numbers of 12 bits
    private const byte Bme280Number = 0x60;
    private const byte Bmp280Number = 0x58;
    private readonly CheckedI2cDevice _device;
    private readonly Bmx280Base _chip;
    private byte[] _last = [];

    private BoschAirSensor(CheckedI2cDevice device, Bmx280Base chip) => (_device, _chip) = (device, chip);

    /// <inheritdoc/>
    public ReadOnlySpan<byte> LastBytes => _last;

    /// <summary>Finds the chip and sets it up.</summary>
    /// <exception cref="AirSensorException">Another chip answers.</exception>
    /// <exception cref="IOException">None does.</exception>
    public static BoschAirSensor Open(AirSensorName name, I2cDevice bus)
    {
        var device = new CheckedI2cDevice(bus, Check);
        Span<byte> number = [0];
        device.WriteRead([ChipNumber], number);
        bool withHumidity = name.Kind == AirSensorKind.Bme280;
        if (number[0] != (withHumidity ? Bme280Number : Bmp280Number))
            throw new AirSensorException(WhatAnswers(name, number[0]));
        if (withHumidity)
            CheckHumidityWords(device);
        Bmx280Base chip = withHumidity ? new Bme280(device) { HumiditySampling = Sampling.UltraLowPower } : new Bmp280(device);
        chip.TemperatureSampling = Sampling.LowPower;
        chip.PressureSampling = Sampling.Standard;
        return new BoschAirSensor(device, chip);
    }

    /// <inheritdoc/>
    public AirReading Read()
    {
        _device.Forget();
        try
        {
            return _chip switch
            {
                Bme280 bme when bme.Read() is var read => Of(read.Temperature, read.Pressure, read.Humidity?.Percent),
                Bmp280 bmp when bmp.Read() is Bmp280ReadResult read => Of(read.Temperature, read.Pressure, null),
                _ => throw new InvalidOperationException("Neither a BME280 nor a BMP280."),
            };
        }
        finally
        {
            _last = _device.Answers;
        }
    }

    /// <inheritdoc/>
    public void Dispose() => _chip.Dispose();

    private static AirReading Of(Temperature? temperature, Pressure? pressure, double? humidityPct) =>
        new(temperature?.DegreesCelsius ?? double.NaN, pressure?.Hectopascals ?? double.NaN, humidityPct ?? double.NaN);

    private static string WhatAnswers(AirSensorName name, byte number) => number switch
    {
        Bme280Number => $"what answers is a BME280: name it {name with { Kind = AirSensorKind.Bme280 }}",
        Bmp280Number => $"what answers is a BMP280, which measures no humidity: name it {name with { Kind = AirSensorKind.Bmp280 }}",
        _ => $"what answers is no {name.Kind.ToString().ToUpperInvariant()}: its chip number is 0x{number:X2}; check address and sensor",
    };

    // After a reset, as by a supply that sagged, the data registers hold 0x80000 and 0x8000, which the formulas make a likely temperature of.
    private static void Check(int register, ReadOnlySpan<byte> answer)
    {
        if (register is not (Pressure or Temperature or Humidity))
            return;
        if (answer[0] == 0x80 && !answer[1..].ContainsAnyExcept((byte)0))
            throw new AirSensorException("it was reset and has not measured: check its supply and wires");
        if (!answer.ContainsAnyExcept((byte)0) || !answer.ContainsAnyExcept((byte)0xFF))
            throw new AirSensorException("it answers with nothing but ones or noughts: check its wires");
    }

    // The driver takes these two for unsigned ones, so that a negative one would make a wrong humidity that looks right.
    private static void CheckHumidityWords(CheckedI2cDevice device)
    {
        Span<byte> words = stackalloc byte[3];
        device.WriteRead([HumidityWords], words);
        if ((words[0] & 0x80) != 0 || (words[2] & 0x80) != 0)
            throw new AirSensorException("this chip's humidity cannot be worked out by the driver (its calibration holds a negative dig_H4 or dig_H5); use another one");
    }
}
