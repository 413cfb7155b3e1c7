using System.Text.Json;

namespace Acquire.Service.Tests.Commands;

public sealed class AirCommandTests : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private int Air(string temperature, string pressure, string humidity, params string[] more) =>
        _bench.Run(["air", "--temperature", temperature, "--pressure", pressure, "--humidity", humidity, .. more]);

    // CIPM-2007 and US Standard Atmosphere 1976, equation 51; numbers worked again.
    [Fact]
    public void Its_JSON_has_the_keys_of_the_contract()
    {
        Assert.Equal(0, Air("20", "1013.25", "50", "--json"));
        JsonElement answer = JsonDocument.Parse(_bench.Out).RootElement;
        Assert.Equal(1.1993139, answer.GetProperty("densityKgM3").GetDouble(), 1e-6);
        Assert.Equal(1.813406e-5, answer.GetProperty("viscosityPaS").GetDouble(), 1e-11);
        Assert.Equal("", _bench.Error);
    }

    [Fact]
    public void Outside_of_the_equations_limits_it_answers_and_says_so()
    {
        Assert.Equal(0, Air("35", "1013.25", "50"));
        Assert.Contains("density", _bench.Out);
        Assert.Contains("15 to 27 °C and 600 to 1100 hPa", _bench.Error);
    }

    [Theory]
    [InlineData("20", "1013", "101", "--humidity: '101' on the command line; allowed is a number from 0 to 100 percent")]
    [InlineData("-300", "1013", "50", "--temperature: '-300' on the command line; allowed is a number from -100 to 100 °C")]
    [InlineData("21,5", "1013", "50", "--temperature: '21,5' on the command line; allowed is a number from -100 to 100 °C, with a point and not a comma")]
    [InlineData("NaN", "1013", "50", "--temperature: 'NaN' on the command line")]
    [InlineData("20", "-5", "50", "--pressure: '-5' on the command line; allowed is a number from 1 to 2000 hPa")]
    [InlineData("99", "700", "100", "--humidity: 100 % at 99 °C would be more vapour than 700 hPa allow; allowed there is up to 70 %")]
    public void What_cannot_be_is_refused_with_what_is_allowed(string temperature, string pressure, string humidity, string message)
    {
        Assert.Equal(2, Air(temperature, pressure, humidity));
        Assert.Contains(message, _bench.Error);
        Assert.Equal("", _bench.Out);
    }

    [Fact]
    public void What_is_missing_is_named()
    {
        Assert.Equal(2, _bench.Run("air", "--temperature", "20"));
        Assert.Contains("--pressure is needed", _bench.Error);
        Assert.Contains("--humidity is needed", _bench.Error);
    }

    [Fact]
    public void Better_instruments_make_the_density_surer()
    {
        Assert.Equal(0, Air("20", "1013.25", "50", "--temperature-limit", "0.05", "--pressure-limit", "0.1", "--humidity-limit", "1"));
        Assert.Contains("1.1993   0.0002", _bench.Out);
    }
}
