using System.Globalization;

namespace Acquire.Acquisition.Air;

/// <summary>What air can be where people spin tops, and the sensors can tell.</summary>
public static class AirLimits
{
    /// <summary>Temperature, °C: what the sensors are made for.</summary>
    public const double LeastC = -40, MostC = 85;

    /// <summary>Pressure, hPa: what the sensors are made for, from the sea to 9 km.</summary>
    public const double LeastHPa = 300, MostHPa = 1100;

    // No check sum guards a BME280's words: a step of that size within one interval is believed if the next look shows it too.
    private const double StepC = 3;
    private const double StepHPa = 3;
    private const double StepPct = 25;

    /// <summary>Takes out of a reading what cannot be. A wrong temperature takes all with it: the other two are worked out with it.</summary>
    /// <param name="reading">What the sensor gave.</param>
    /// <param name="problem">What was taken out, for people; null where nothing was.</param>
    public static AirReading Possible(AirReading reading, out string? problem)
    {
        // A driver cuts what lies beyond 0 and 100 % off: such a humidity is a fault, or a wet sensor.
        (AirReading rest, problem) = reading switch
        {
            { TemperatureC: not (>= LeastC and <= MostC) } => (AirReading.None, Says("temperature", reading.TemperatureC, "°C")),
            { PressureHPa: < LeastHPa or > MostHPa } => (reading with { PressureHPa = double.NaN }, Says("pressure", reading.PressureHPa, "hPa")),
            { HumidityPct: <= 0 or >= 100 } => (reading with { HumidityPct = double.NaN }, Says("humidity", reading.HumidityPct, "%")),
            _ => (reading, null),
        };
        return problem is null || rest.IsEmpty ? rest : Again(rest, ref problem);
    }

    /// <summary>True where one reading does not follow from another a few seconds before.</summary>
    public static bool IsStep(AirReading from, AirReading to) =>
        Math.Abs(to.TemperatureC - from.TemperatureC) > StepC || Math.Abs(to.PressureHPa - from.PressureHPa) > StepHPa || Math.Abs(to.HumidityPct - from.HumidityPct) > StepPct;

    private static AirReading Again(AirReading rest, ref string? problem)
    {
        AirReading left = Possible(rest, out string? more);
        problem = more is null ? problem : $"{problem}; {more}";
        return left;
    }

    private static string Says(string what, double value, string unit) =>
        double.IsNaN(value) ? $"it gave no {what}" : string.Create(CultureInfo.InvariantCulture, $"it gave a {what} of {value:0.#} {unit}, which cannot be and is left out");
}
