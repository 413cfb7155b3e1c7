using System.CommandLine;
using System.Globalization;
using Acquire.Results.Air;
using Acquire.Results.Bodies;
using Acquire.Service.Bodies;
using Acquire.Service.Commands;

namespace Acquire.Service.Runs;

/// <summary>The options that tell the body, its enclosure and the air.</summary>
internal sealed class DragOptions
{
    private const double UsualC = 20;
    private const double UsualHPa = 1013.25;
    private const double UsualPct = 50;

    private readonly Option<string> _rotor = new("--rotor") { HelpName = "FILE", Description = "The body's file (acquire rotor --help): gives torque, power, and a plain disc's drag beside them." };
    private readonly NumberOption _clearance = new("--clearance", "MM", "With --rotor: clearance between body and cover on each side, mm; without it the disc is in free air.", 0.01, 1e4, "mm");
    private readonly NumberOption _temperature = new("--temperature", "C", "Temperature of the air, °C. [default: the run's environment.csv, else 20]", -100, 100, "°C");
    private readonly NumberOption _pressure = new("--pressure", "HPA", "Its pressure at the place itself, hPa. [default: the run's, else 1013.25]", 1, 2000, "hPa");
    private readonly NumberOption _humidity = new("--humidity", "PCT", "Its relative humidity, percent. [default: the run's, else 50]", 0, 100, "percent");

    /// <summary>Gives a command these options.</summary>
    public void AddTo(Command command)
    {
        command.Options.Add(_rotor);
        foreach (NumberOption option in new[] { _clearance, _temperature, _pressure, _humidity }) command.Options.Add(option.Option);
    }

    /// <summary>Reads them.</summary>
    /// <returns>What makes a body of a run; it gives null where no rotor is given. Null where something is wrong, told in <paramref name="problems"/>.</returns>
    public Func<RunData, DragBody?>? Read(ParseResult call, Surroundings surroundings, List<string> problems)
    {
        double? clearance = _clearance.Read(call, problems);
        double? temperature = _temperature.Read(call, problems);
        double? pressure = _pressure.Read(call, problems);
        double? humidity = _humidity.Read(call, problems);
        if (call.GetValue(_rotor) is not { } file)
        {
            if (new[] { clearance, temperature, pressure, humidity }.Any(v => v is not null))
                problems.Add("--clearance, --temperature, --pressure and --humidity are for the drag of a disc and need --rotor");
            return problems.Count > 0 ? null : _ => null;
        }

        RotorReading reading = RotorFile.Read(surroundings.FullPath(file));
        problems.AddRange(reading.Problems);
        foreach (string warning in reading.Warnings) surroundings.Error.WriteLine($"acquire {call.CommandResult.Command.Name}: {warning}");
        return problems.Count > 0 || reading.Rotor is not { } rotor ? null : run => Body(run, rotor, clearance, temperature, pressure, humidity);
    }

    private static DragBody Body(RunData run, Rotor rotor, double? clearanceMm, double? temperature, double? pressure, double? humidity)
    {
        double Of(double? given, Func<Recording.EnvironmentPoint, double> measured, double usual) =>
            given ?? run.Environment.Select(measured).Where(double.IsFinite).DefaultIfEmpty(usual).Average();
        (double c, double hPa, double pct) = (Of(temperature, p => p.TemperatureC, UsualC), Of(pressure, p => p.PressureHPa, UsualHPa), Of(humidity, p => p.HumidityPct, UsualPct));
        string from = (temperature ?? pressure ?? humidity) is not null ? "as given" : run.Environment.Count > 0 ? "as measured with the run" : "taken for want of a measurement";
        (string What, double? Given, Func<Recording.EnvironmentPoint, double> Measured)[] each = [("temperature", temperature, p => p.TemperatureC), ("pressure", pressure, p => p.PressureHPa), ("humidity", humidity, p => p.HumidityPct)];
        string[] taken = [.. each.Where(e => e.Given is null && !run.Environment.Any(p => double.IsFinite(e.Measured(p)))).Select(e => e.What)];
        if (taken.Length is 1 or 2) from += $" ({string.Join(" and ", taken)} not: taken for want of a measurement)";
        MoistAir air = MoistAir.Of(c, hPa * 100, Math.Clamp(pct, 0, 100) / 100) ?? MoistAir.Of(c, hPa * 100, 0)!;
        string words = string.Create(CultureInfo.InvariantCulture, $"air of {c:0.#} °C, {hPa:0.#} hPa, {pct:0} % humidity, {from}: {air.DensityKgM3:0.000} kg/m³");
        return new DragBody(rotor, air, words, clearanceMm / 1000);
    }
}
