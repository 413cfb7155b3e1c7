namespace Acquire.Recording;

/// <summary>A column of a table of a run.</summary>
/// <param name="Name">As in the header row.</param>
/// <param name="Type"><c>number</c>, <c>integer</c> or <c>string</c>.</param>
/// <param name="Unit">Its unit, or empty.</param>
/// <param name="Description">For people.</param>
/// <param name="Required">True where no row may leave it empty.</param>
/// <param name="Minimum">The least value, or null.</param>
/// <param name="Words">The words allowed, or null.</param>
/// <param name="Maximum">The largest value, or null.</param>
internal sealed record RunColumn(
    string Name, string Type, string Unit, string Description, bool Required = false, double? Minimum = null, string[]? Words = null, double? Maximum = null);

/// <summary>A table of a run.</summary>
internal sealed record RunTable(string Name, string Title, string Description, IReadOnlyList<RunColumn> Columns)
{
    public string FileName => Name + ".csv";

    public string Header => string.Join(',', Columns.Select(column => column.Name));
}

/// <summary>The tables of version 1.</summary>
internal static class RunTables
{
    private static readonly RunColumn Time = new(
        "time_s", "number", "s", "Seconds from the first pulse of the run, on the calibrated clock.", Required: true);

    public static readonly RunTable Pulses = new(
        "pulses",
        "Pulses",
        "Every pulse received, also those rejected.",
        [
            Time,
            new("ticks", "integer", "tick", "The source's own counter at the leading edge, unwrapped.", Required: true),
            new("kind", "string", "", "mark: a mark passed the sensor; extra: a glint, a bounce or lamp light.", Required: true, Words: ["mark", "extra"]),
            new("mark", "integer", "", "Which mark of the turn, from 0; empty for an extra.", Minimum: 0),
            new("turns", "number", "turn", "Whole and part turns since the first pulse of the run."),
            new("width_s", "number", "s", "From the leading to the trailing edge; empty where the source gives none.", Minimum: 0),
        ]);

    public static readonly RunTable Speed = new(
        "speed",
        "Speed",
        "The best estimate of speed and deceleration on an even grid; empty where the signal was lost. u_ is a standard uncertainty (k=1).",
        [
            Time,
            new("rpm", "number", "1/min", "Speed."),
            new("u_rpm", "number", "1/min", "Standard uncertainty of the speed.", Minimum: 0),
            new("decel_rpm_s", "number", "1/(min s)", "Deceleration, positive while slowing."),
            new("u_decel_rpm_s", "number", "1/(min s)", "Standard uncertainty of the deceleration.", Minimum: 0),
        ]);

    public static readonly RunTable Events = new(
        "events",
        "Events",
        "What happened.",
        [
            Time,
            new("event", "string", "", "launch, release, signal lost, signal back, board restarted, port lost, port back, marks look wrong, stop …", Required: true),
            new("detail", "string", "", "More for people."),
        ]);

    public static readonly RunTable Wobble = new(
        "wobble",
        "Wobble",
        "Slow precession, by stretches of marks; only where one was found. u_ is a standard uncertainty (k=1).",
        [
            Time,
            new("rpm", "number", "1/min", "Speed in the middle of the stretch."),
            new("rate_hz", "number", "Hz", "Precessions a second, by the law that the rate goes as one over the speed: constantPerS2 over turns a second."),
            new("u_rate_hz", "number", "Hz", "Standard uncertainty of the rate, from those of the constant and of the speed.", Minimum: 0),
            new("amplitude_turns", "number", "turn", "How far the wobble moves a mark, mean of the stretch.", Minimum: 0),
            new("u_amplitude_turns", "number", "turn", "Standard uncertainty of the amplitude, from the scatter of the stretch's marks.", Minimum: 0),
        ]);

    public static readonly RunTable Environment = new(
        "environment",
        "Environment",
        "The air around the run, a row each time that a sensor was read; a sensor's last row before the first pulse has a negative time. Empty where a sensor has no such value or gave nonsense.",
        [
            Time,
            new("temperature_c", "number", "°C", "Temperature.", Minimum: -273.15),
            new("pressure_hpa", "number", "hPa", "Absolute pressure.", Minimum: 0),
            new("humidity_pct", "number", "%", "Relative humidity.", Minimum: 0, Maximum: 100),
        ]);

    public static readonly IReadOnlyList<RunTable> All = [Pulses, Speed, Events, Wobble, Environment];

    /// <summary>Files that may lie in a run's folder without being in its descriptor.</summary>
    public static readonly IReadOnlyList<string> Companions = [DataPackageFile.FileName, "report.html", ".report.html.new"];
}
