using Acquire.Service.Capture;
using Microsoft.Extensions.Options;

namespace Acquire.Service.Tests.Capture;

public sealed class CaptureOptionsValidatorTests
{
    private static readonly CaptureOptionsValidator Validator = new();

    [Theory]
    [InlineData("bme280@1:0x76", null, null, 45.0, "--humidity: '45'; allowed is nothing beside bme280@1:0x76, which measures it")]
    [InlineData("bmp280@1:0x76", 20.0, null, 45.0, "--temperature: '20'; allowed is nothing beside bmp280@1:0x76, which measures it")]
    [InlineData("sht4x@1:0x44", null, 1009.0, null, null)]
    [InlineData("bme280", null, null, null, "--air: 'bme280'; allowed is KIND@BUS:ADDRESS such as bme280@1:0x76, several with commas between, each at an address of its own; KIND is bme280, bmp280, sht3x or sht4x")]
    public void What_a_sensor_of_the_air_measures_is_not_entered_by_hand_too(string air, double? c, double? hPa, double? pct, string? problem)
    {
        var options = new CaptureOptions { Port = "p", Air = air, TemperatureC = c, PressureHPa = hPa, HumidityPct = pct };
        Assert.Equal(problem is null ? [] : [problem], CaptureOptionsValidator.Problems(options).Select(p => p.Text(null)));
    }

    [Fact]
    public void Defaults_with_a_port_are_valid() => Assert.True(Validator.Validate(null, new() { Port = "p" }).Succeeded);

    [Fact]
    public void All_problems_are_listed_at_once()
    {
        ValidateOptionsResult result = Validator.Validate(null, new()
        {
            Baud = 1,
            Format = "morse",
            TimeScale = double.NaN,
            Top = "two\nlines",
            StopBelowRpm = 500,
            MaxRpm = 400,
            Factors = new() { ["top"] = 1, ["dish_radius_mm"] = double.PositiveInfinity },
        });
        Assert.Equal(
            [
                "--port: nothing given; allowed is a text of one line, 1 to 200 characters",
                "--baud: '1'; allowed is a whole number from 300 to 4000000",
                "--format: 'morse'; allowed is pulse-lines, ticks, interval or rpm",
                "--time-scale: 'NaN'; allowed is a number from 0.001 to 100000",
                "--top: 'two\nlines'; allowed is a text of one line, 0 to 100 characters",
                "--stop-below: '500'; allowed is less than --max-rpm, which is 400",
                "--factor: 'top=1'; allowed is a name of letters, digits, _ and - that begins with a letter, up to 60 of them, and is none of top, base, cover, operator, note",
                "--factor: 'dish_radius_mm=Infinity'; allowed is a finite number",
            ],
            result.Failures);
    }

    [Fact]
    public void Bounds_themselves_are_allowed_and_what_lies_beyond_is_not()
    {
        foreach (NumberSetting setting in CaptureSettings.All.OfType<NumberSetting>())
        {
            foreach (double bound in new[] { setting.Least, setting.Most })
            {
                var options = new CaptureOptions { Port = "p" };
                setting.Set(options, bound);
                Assert.False(setting.Wrong(options), $"{setting.Option} {bound}");
                double beyond = bound == setting.Least ? bound - (setting.Whole ? 1 : 1e-6) : bound + 1;
                setting.Set(options, beyond);
                Assert.True(setting.Wrong(options), $"{setting.Option} {beyond}");
            }
        }
    }

    [Theory]
    [InlineData("2.5")]
    [InlineData("1e10")]
    [InlineData("NaN")]
    [InlineData("1,200")]
    [InlineData("")]
    public void A_whole_number_is_read_only_from_a_whole_number(string text) =>
        Assert.False(CaptureSettings.ByKey("Baud")!.TryRead(text, new()));
}
