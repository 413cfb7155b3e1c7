namespace Acquire.Service.Braking;

/// <summary>Which columns of a bench sheet are read, and in what units. A column is named, or numbered from 1; null where the usual names are looked for.</summary>
/// <param name="Speed">The speeds.</param>
/// <param name="Power">Power into the motor.</param>
/// <param name="Volts">Volts at the motor; with <paramref name="Amps"/> in place of power.</param>
/// <param name="Amps">Current into the motor.</param>
/// <param name="Configuration">What was turned.</param>
/// <param name="RadPerSPerUnit">rad/s in a unit of the speeds.</param>
/// <param name="WattsPerUnit">W in a unit of power.</param>
/// <param name="AmpsPerUnit">A in a unit of current.</param>
/// <param name="HasHeader">Whether the first line names the columns.</param>
/// <param name="DecimalComma">Whether numbers have a comma where others have a point.</param>
internal sealed record BenchColumns(
    string? Speed, string? Power, string? Volts, string? Amps, string? Configuration,
    double RadPerSPerUnit, double WattsPerUnit, double AmpsPerUnit, bool HasHeader, bool DecimalComma)
{
    /// <summary>Units of speed with how many rad/s each is.</summary>
    public static readonly (string Name, double RadPerS)[] SpeedUnits = [("rpm", Math.PI / 30), ("rad/s", 1), ("Hz", 2 * Math.PI), ("rev/s", 2 * Math.PI)];

    /// <summary>Units of power with how many W each is.</summary>
    public static readonly (string Name, double Watts)[] PowerUnits = [("W", 1), ("mW", 1e-3)];

    /// <summary>Units of current with how many A each is.</summary>
    public static readonly (string Name, double Amps)[] CurrentUnits = [("A", 1), ("mA", 1e-3)];

    /// <summary>Names under which a column is found where none is given; the first is that of the template.</summary>
    public static readonly IReadOnlyDictionary<string, string[]> Usual = new Dictionary<string, string[]>
    {
        [nameof(Speed)] = ["speed_rpm", "speed", "rpm"],
        [nameof(Power)] = ["power_w", "power", "watts"],
        [nameof(Volts)] = ["volts", "voltage"],
        [nameof(Amps)] = ["amps", "current"],
        [nameof(Configuration)] = ["configuration"],
    };
}
