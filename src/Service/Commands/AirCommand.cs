using System.CommandLine;
using System.Globalization;
using Acquire.Results.Air;
using Acquire.Service.Display;

namespace Acquire.Service.Commands;

/// <summary><c>acquire air</c>: density and viscosity of air.</summary>
internal sealed class AirCommand
{
    private readonly Surroundings _surroundings;
    private readonly NumberOption _temperature = new("--temperature", "C", "Temperature, °C. A number from -100 to 100.", -100, 100, "°C");
    private readonly NumberOption _pressure = new("--pressure", "HPA", "Pressure at the place itself, not brought down to sea level, hPa. A number from 1 to 2000.", 1, 2000, "hPa");
    private readonly NumberOption _humidity = new("--humidity", "PCT", "Relative humidity, percent. A number from 0 to 100.", 0, 100, "percent");
    private readonly NumberOption _temperatureLimit = new("--temperature-limit", "K", "By how much the thermometer may be off either way, K. [default: 0.5]", 0, 20, "K");
    private readonly NumberOption _pressureLimit = new("--pressure-limit", "HPA", "The same of the barometer, hPa. [default: 1]", 0, 200, "hPa");
    private readonly NumberOption _humidityLimit = new("--humidity-limit", "PCT", "The same of the hygrometer, percent of humidity. [default: 5]", 0, 100, "percent");
    private readonly Option<bool> _json = new("--json") { Description = "Print one JSON document." };

    private AirCommand(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("air", "Work out density and viscosity of air from temperature, pressure and humidity (CIPM-2007, Sutherland).");
        var air = new AirCommand(surroundings);
        foreach (NumberOption option in (NumberOption[])[air._temperature, air._pressure, air._humidity, air._temperatureLimit, air._pressureLimit, air._humidityLimit])
            command.Options.Add(option.Option);
        command.Options.Add(air._json);
        command.SetAction(air.Run);
        HelpText.Attach(command,
        [
            "acquire air --temperature 21.5 --pressure 1003 --humidity 45",
            "acquire air --temperature 20 --pressure 1013.25 --humidity 50 --json",
        ]);
        return command;
    }

    private int Run(ParseResult call)
    {
        var problems = new List<string>();
        double? temperature = Needed(_temperature, call, problems);
        double? pressure = Needed(_pressure, call, problems);
        double? humidity = Needed(_humidity, call, problems);
        double limitC = _temperatureLimit.Read(call, problems) ?? 0.5;
        double limitHpa = _pressureLimit.Read(call, problems) ?? 1;
        double limitPercent = _humidityLimit.Read(call, problems) ?? 5;
        if (problems.Count > 0)
            return _surroundings.Refuse("air", problems);
        if (MoistAir.Of(temperature!.Value, pressure!.Value * 100, humidity!.Value / 100) is not { } air)
            return _surroundings.Refuse("air", TooMoist(temperature.Value, pressure.Value, humidity.Value));
        if (!air.IsWithinEquation)
            _surroundings.Error.WriteLine(Text($"acquire air: {temperature} °C at {pressure} hPa is outside of what the equation for the density was made for, 15 to 27 °C and 600 to 1100 hPa: its uncertainty there is not known, and is not in what is stated."));
        (double uDensity, double uViscosity) = air.Uncertainty(limitC, limitHpa * 100, limitPercent / 100);
        if (call.GetValue(_json))
        {
            JsonAnswer.Write(_surroundings.Out, writer =>
            {
                writer.WriteStartObject();
                writer.WriteNumber("densityKgM3", air.DensityKgM3);
                writer.WriteNumber("viscosityPaS", air.ViscosityPaS);
                writer.WriteNumber("kinematicViscosityM2S", air.KinematicViscosityM2S);
                writer.WriteNumber("uDensityKgM3", uDensity);
                writer.WriteNumber("uViscosityPaS", uViscosity);
                writer.WriteBoolean("withinEquation", air.IsWithinEquation);
                writer.WriteEndObject();
            });
            return ExitCode.Done;
        }

        var table = new TextTable("quantity", "value", "± (k=1)", "unit");
        table.AlignRight("value", "± (k=1)");
        table.Add("density", Text($"{air.DensityKgM3:F4}"), Text($"{uDensity:F4}"), "kg/m³");
        table.Add("viscosity", Text($"{air.ViscosityPaS * 1e6:F3}"), Text($"{uViscosity * 1e6:F3}"), "µPa s");
        table.Add("kinematic", Text($"{air.KinematicViscosityM2S * 1e6:F3}"), "", "mm²/s");
        table.Add("water vapour", Text($"{air.VapourFraction * 100:F3}"), "", "percent by moles");
        table.Write(_surroundings);
        _surroundings.Out.WriteLine();
        _surroundings.Out.WriteLine(Text($"± from instruments right within {limitC} K, {limitHpa} hPa, {limitPercent} % humidity (--temperature-limit …)."));
        _surroundings.Out.WriteLine("Density: CIPM-2007. Viscosity: Sutherland, dry air.");
        _surroundings.Out.Flush();
        return ExitCode.Done;
    }

    private static double? Needed(NumberOption option, ParseResult call, List<string> problems)
    {
        int before = problems.Count;
        double? value = option.Read(call, problems);
        if (value is null && problems.Count == before)
            problems.Add($"{option.Option.Name} is needed: {option.Option.Description}");
        return value;
    }

    private static string TooMoist(double temperatureC, double pressureHpa, double percent)
    {
        double most = 100 * pressureHpa * 100 / (1.01 * MoistAir.SaturationPa(temperatureC));
        return Text($"--humidity: {percent} % at {temperatureC} °C would be more vapour than {pressureHpa} hPa allow; allowed there is up to {Math.Min(100, Math.Floor(most))} %");
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
