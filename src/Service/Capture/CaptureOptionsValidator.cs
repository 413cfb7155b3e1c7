using System.Globalization;
using Acquire.Acquisition.Gpio;
using Acquire.Acquisition.Air;
using Microsoft.Extensions.Options;

namespace Acquire.Service.Capture;

/// <summary>Says everything that is wrong with the settings of a capture, each with its option, the value found and what is allowed.</summary>
internal sealed class CaptureOptionsValidator : IValidateOptions<CaptureOptions>
{
    private const int LongestFactorName = 60;
    private static readonly string[] SetupNames = ["top", "base", "cover", "operator", "note"];

    /// <inheritdoc/>
    public ValidateOptionsResult Validate(string? name, CaptureOptions options)
    {
        string[] problems = [.. Problems(options).Select(p => p.Text(from: null))];
        return problems.Length == 0 ? ValidateOptionsResult.Success : ValidateOptionsResult.Fail(problems);
    }

    /// <summary>The problems, in the order of the settings.</summary>
    public static IEnumerable<SettingProblem> Problems(CaptureOptions options)
    {
        foreach (CaptureSetting setting in CaptureSettings.All)
        {
            bool isNeeded = setting.Key != "Port" || options.Gpio.Length == 0;
            if (isNeeded && setting.Wrong(options)) yield return new(setting.Key, setting.Option, setting.Value(options), setting.Allowed);
        }

        if (options.StopBelowRpm >= options.MaxRpm)
        {
            yield return new("StopBelowRpm", "--stop-below", Text(options.StopBelowRpm), $"less than --max-rpm, which is {Text(options.MaxRpm)}");
        }

        foreach (SettingProblem problem in OfGpio(options)) yield return problem;
        foreach (SettingProblem problem in AirProblems(options))
            yield return problem;

        foreach ((string factor, double value) in options.Factors)
        {
            if (!IsFactorName(factor))
            {
                yield return new(FactorKey(factor), CaptureSettings.FactorOption, $"{factor}={Text(value)}",
                    $"a name of letters, digits, _ and - that begins with a letter, up to {LongestFactorName} of them, and is none of {string.Join(", ", SetupNames)}");
            }

            if (!double.IsFinite(value))
            {
                yield return new(FactorKey(factor), CaptureSettings.FactorOption, $"{factor}={Text(value)}", "a finite number");
            }
        }
    }

    private static IEnumerable<SettingProblem> OfGpio(CaptureOptions options)
    {
        if (options.Gpio is "" or GpioList.Word) yield break;
        if (!GpioSettings.IsLine(options.Gpio)) yield return new("Gpio", "--gpio", options.Gpio, $"CHIP:LINE, such as pinctrl-rp1:GPIO17 or 0:17, or {GpioList.Word}");
        if (options.Port.Length > 0) yield return new("Gpio", "--gpio", options.Gpio, $"a port or a GPIO line, and --port is '{options.Port}'");
        if (options.Clock != "host") yield return new("Clock", "--clock", options.Clock, "host with --gpio, whose edges this computer's own clock stamps");
        if (options.TimeScale != 1) yield return new("TimeScale", "--time-scale", Text(options.TimeScale), "1 with --gpio");
    }

    private static IEnumerable<SettingProblem> AirProblems(CaptureOptions options)
    {
        if (options.Air.Length == 0)
            yield break;
        if (AirSensorName.List(options.Air) is not { } sensors)
        {
            yield return new("Air", "--air", options.Air, AirSensorName.Allowed);
            yield break;
        }

        // Two values of one thing would leave it open which is meant.
        (string Key, string Option, double? Entered, AirSensorName? Measures)[] each =
        [
            ("TemperatureC", "--temperature", options.TemperatureC, sensors[0]),
            ("PressureHPa", "--pressure", options.PressureHPa, sensors.FirstOrDefault(s => s.HasPressure)),
            ("HumidityPct", "--humidity", options.HumidityPct, sensors.FirstOrDefault(s => s.HasHumidity)),
        ];
        foreach ((string key, string option, double? entered, AirSensorName? measures) in each)
        {
            if (entered is { } value && measures is not null)
                yield return new(key, option, Text(value), $"nothing beside {measures}, which measures it");
        }
    }

    /// <summary>The key of a factor below the section.</summary>
    public static string FactorKey(string factor) => CaptureSettings.FactorsKey + ":" + factor;

    private static bool IsFactorName(string name) =>
        name.Length is > 0 and <= LongestFactorName
        && char.IsAsciiLetter(name[0])
        && name.All(c => char.IsAsciiLetterOrDigit(c) || c is '_' or '-')
        && !SetupNames.Contains(name, StringComparer.OrdinalIgnoreCase);

    private static string Text(double value) => value.ToString(CultureInfo.InvariantCulture);
}

/// <summary>A setting whose value is not allowed.</summary>
/// <param name="Key">The key below section <c>Capture</c>.</param>
/// <param name="Option">The option on the command line.</param>
/// <param name="Found">The value found.</param>
/// <param name="Allowed">What is allowed.</param>
internal sealed record SettingProblem(string Key, string Option, string Found, string Allowed)
{
    /// <summary>The problem in words.</summary>
    /// <param name="from">Where the value came from, such as "on the command line", or null.</param>
    public string Text(string? from)
    {
        string found = Found.Length == 0 ? "nothing given" : $"'{Found}'";
        string place = from is null ? "" : " " + from;
        return $"{Option}: {found}{place}; allowed is {Allowed}";
    }
}
