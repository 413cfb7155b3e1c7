using System.Device.I2c;
using Acquire.Acquisition.Air;
using Xunit;

namespace Acquire.Acquisition.Tests.Air;

public sealed class AirSensorTests
{
    private static AirSensorName Name(string text) => AirSensorName.List(text)!.Single();

    private static IAirSensor Open(string name, I2cDevice device) => AirSensors.Open(Name(name), _ => device);

    // Calibration words, raw values and results: Bosch, BST-BMP280-DS001, section 3.12 (from memory; its formulas were seen). A BME280 has the same
    // formulas for these two.
    [Theory]
    [InlineData("bmp280@1:0x76", 0x58)]
    [InlineData("bme280@1:0x76", 0x60)]
    public void The_worked_example_of_the_data_sheet_comes_out(string name, byte number)
    {
        BoschChip chip = BoschChip.OfExample(number);
        using IAirSensor sensor = Open(name, chip);
        AirReading reading = sensor.Read();
        Assert.Equal(25.08, reading.TemperatureC, 0.005);
        Assert.Equal(1006.5327, reading.PressureHPa, 0.0002);
        Assert.Equal(number == 0x58, double.IsNaN(reading.HumidityPct));
        Assert.Equal(1, chip.Measurements);
        Assert.Equal(0, chip[0xF4] & 3); // it sleeps
    }

    // The data sheet has no example for the humidity, but two formulas: the driver has the one in floating point, this is the one in whole numbers (BST-BME280-DS002,
    // section 4.2.3, from memory). Words as chips have them, invented.
    [Theory]
    [InlineData(360, 0, 325, 50, 30, 27000)]
    [InlineData(367, 0, 302, 50, 30, 30500)]
    [InlineData(350, 0, 410, 0, 30, 33000)]
    public void The_humidity_is_that_of_the_data_sheets_formula_in_whole_numbers(short h2, byte h3, int h4, int h5, sbyte h6, int raw)
    {
        BoschChip chip = BoschChip.OfExample(0x60);
        chip.SetHumidityWords(75, h2, h3, h4, h5, h6);
        chip.RawHumidity = raw;
        using IAirSensor sensor = Open("bme280@1:0x76", chip);
        const int Fine = 128422; // of the temperature in the example
        long v = Fine - 76800;
        v = (((((long)raw << 14) - ((long)h4 << 20) - (h5 * v)) + 16384) >> 15)
            * ((((((((v * h6) >> 10) * (((v * h3) >> 11) + 32768)) >> 10) + 2097152) * h2) + 8192) >> 14);
        v -= ((((v >> 15) * (v >> 15)) >> 7) * 75) >> 4;
        double expected = Math.Clamp(v, 0, 419430400) / 4096.0 / 1024;
        Assert.InRange(expected, 20, 80);
        Assert.Equal(expected, sensor.Read().HumidityPct, 0.02);
    }

    [Fact]
    public void A_chip_that_lost_its_supply_for_a_moment_gives_no_reading_though_its_registers_make_a_likely_temperature()
    {
        BoschChip chip = BoschChip.OfExample(0x58);
        using IAirSensor sensor = Open("bmp280@1:0x76", chip);
        sensor.Read();
        chip.PowerUp();
        AirSensorException e = Assert.Throws<AirSensorException>(() => sensor.Read());
        Assert.Contains("was reset", e.Message, StringComparison.Ordinal);
        using IAirSensor opened = Open("bmp280@1:0x76", chip);
        Assert.Equal(25.08, opened.Read().TemperatureC, 0.005);
    }

    [Theory]
    [InlineData(0x00)]
    [InlineData(0xFF)]
    public void A_bus_that_is_held_at_one_level_gives_no_reading(byte level)
    {
        BoschChip chip = BoschChip.OfExample(0x60);
        using IAirSensor sensor = Open("bme280@1:0x76", chip);
        chip.Before = c => Enumerable.Range(0xF7, 8).ToList().ForEach(r => c[r] = level);
        Assert.Throws<AirSensorException>(() => sensor.Read());
    }

    [Fact]
    public void Another_chip_than_the_one_named_is_told_by_its_number()
    {
        string Told(string name, byte number) => Assert.Throws<AirSensorException>(() => Open(name, BoschChip.OfExample(number))).Message;
        Assert.Equal("what answers is a BMP280, which measures no humidity: name it bmp280@1:0x76", Told("bme280@1:0x76", 0x58));
        Assert.Equal("what answers is a BME280: name it bme280@1:0x77", Told("bmp280@1:0x77", 0x60));
        Assert.Equal("what answers is no BME280: its chip number is 0x61; check address and sensor", Told("bme280@1:0x76", 0x61));
    }

    // The driver reads these two signed words as unsigned: a likely humidity that is wrong.
    [Theory]
    [InlineData(-20, 50)]
    [InlineData(325, -3)]
    public void A_chip_whose_humidity_the_driver_gets_wrong_is_refused(int h4, int h5)
    {
        BoschChip chip = BoschChip.OfExample(0x60);
        chip.SetHumidityWords(75, 360, 0, h4, h5, 30);
        Assert.Contains("dig_H4", Assert.Throws<AirSensorException>(() => Open("bme280@1:0x76", chip)).Message, StringComparison.Ordinal);
        Assert.True(chip.IsDisposed);
    }

    // Sensirion, SHT3x-DIS data sheet, version 5 (May 2018), table 20.
    [Fact]
    public void The_check_sum_is_that_of_the_data_sheets_example() => Assert.Equal(0x92, SensirionAirSensor.CheckSum([0xBE, 0xEF]));

    // T = -45 + 175 S/65535, RH = 100 S/65535 (SHT3x-DIS data sheet, section 4.13); of an SHT4x RH = -6 + 125 S/65535 (SHT4x data sheet, section 4.6, from memory).
    [Theory]
    [InlineData("sht3x@1:0x44", 50.0, 0.05)]
    [InlineData("sht4x@1:0x44", 56.5, 0.001)]
    public void An_SHT_gives_temperature_and_humidity_by_its_data_sheet(string name, double percent, double within)
    {
        var chip = new SensirionChip { RawTemperature = 25000, RawHumidity = 32768 };
        using IAirSensor sensor = Open(name, chip);
        Assert.Equal(name.StartsWith("sht3x", StringComparison.Ordinal) ? [0x30, 0xA2] : [0x94], chip.Commands[0]); // soft reset
        AirReading reading = sensor.Read();
        Assert.Equal(-45 + (175 * 25000 / 65535.0), reading.TemperatureC, within);
        Assert.Equal(percent, reading.HumidityPct, within);
        Assert.True(double.IsNaN(reading.PressureHPa));
    }

    [Theory]
    [InlineData("sht3x@1:0x44", 0)]
    [InlineData("sht3x@1:0x44", 4)]
    [InlineData("sht4x@1:0x44", 1)]
    [InlineData("sht4x@1:0x44", 5)]
    public void A_bit_that_turns_over_on_the_way_from_an_SHT_gives_no_reading(string name, int at)
    {
        var chip = new SensirionChip { RawTemperature = 25000, RawHumidity = 32768 };
        using IAirSensor sensor = Open(name, chip);
        sensor.Read();
        chip.Noise[at] = 0x10;
        Assert.Contains("check sum", Assert.Throws<AirSensorException>(() => sensor.Read()).Message, StringComparison.Ordinal);
        chip.Noise[at] = 0;
        Assert.Equal(21.76, sensor.Read().TemperatureC, 0.05);
    }

    [Fact]
    public void A_bus_that_is_not_there_says_how_to_switch_it_on_and_a_place_where_nothing_answers_says_so()
    {
        Assert.Equal(
            "there is no bus /dev/i2c-253: switch I2C on (on a Pi: sudo raspi-config nonint do_i2c 0) or name another bus",
            Assert.Throws<AirSensorException>(() => AirSensors.Open(Name("bme280@253:0x76"))).Message);
        BoschChip absent = BoschChip.OfExample(0x60);
        absent.Before = _ => throw new IOException("Error 121 performing I2C data transfer.");
        Assert.Equal(
            "nothing answers at address 0x76 of bus 1: check wires, supply and address",
            Assert.Throws<AirSensorException>(() => Open("bme280@1:0x76", absent)).Message);
        Assert.True(absent.IsDisposed);
    }

    [Theory]
    [InlineData("bme280@1:0x76", "bme280@1:0x76")]
    [InlineData("BMP280@0:118", "bmp280@0:0x76")]
    [InlineData("bmp280@1:0x76, sht4x@20:0x44", "bmp280@1:0x76;sht4x@20:0x44")]
    public void A_sensor_is_named_by_kind_bus_and_address(string text, string read) => Assert.Equal(read, string.Join(';', AirSensorName.List(text)!));

    [Theory]
    [InlineData("")]
    [InlineData("bme280")]
    [InlineData("bme280@1")]
    [InlineData("bme680@1:0x76")]
    [InlineData("0@1:0x76")]
    [InlineData("bme280@-1:0x76")]
    [InlineData("bme280@1:0x78")]
    [InlineData("bme280@1:76h")]
    [InlineData("bme280@1:0x76,")]
    [InlineData("bme280@1:0x76,sht3x@1:0x76")]
    public void Anything_else_is_none(string text) => Assert.Null(AirSensorName.List(text));
}
