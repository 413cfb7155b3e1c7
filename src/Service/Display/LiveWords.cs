using System.Globalization;
using Acquire.Motion;
using Acquire.Service.Capture;
using Acquire.Service.Forecasting;

namespace Acquire.Service.Display;

/// <summary>What a live state says, in words; shared by the display on a terminal and by the log.</summary>
internal static class LiveWords
{
    /// <summary>The phase.</summary>
    public static string Phase(LiveState live) => live.Phase switch
    {
        RunPhase.Waiting when !live.LinkUp => "no link",
        RunPhase.Waiting => "waiting for a launch",
        RunPhase.Launching => "launching",
        RunPhase.Spinning => "spinning",
        RunPhase.Lost => "marks ceased, waiting for them",
        RunPhase.Ended => "run over, saving it",
        _ => live.Phase.ToString(),
    };

    /// <summary>What the pulses are while nothing spins: a lamp's where they are, else nothing.</summary>
    public static string Lamp(double hz) => double.IsFinite(hz) ? string.Create(CultureInfo.InvariantCulture, $"lamp light, {hz:F1} Hz") : "";

    /// <summary>How far marks come as predicted.</summary>
    public static string Quality(double share)
    {
        if (!double.IsFinite(share)) return Numbers.None;
        string word = share switch
        {
            >= 0.99 => "good",
            >= 0.95 => "fair",
            >= 0.80 => "poor",
            _ => "bad",
        };

        // Rounded down: 100 % means all of them.
        return string.Create(CultureInfo.InvariantCulture, $"{word}, {Math.Floor(share * 1000) / 10:0.#} % of marks as predicted");
    }

    /// <summary>Whether the speed falls or rises, and how fast.</summary>
    public static string Slowing(double decelRpmPerS)
    {
        if (!double.IsFinite(decelRpmPerS)) return "";
        string rate = Math.Abs(decelRpmPerS).ToString(Math.Abs(decelRpmPerS) < 10 ? "0.000" : "0.0", CultureInfo.InvariantCulture);
        return (decelRpmPerS < 0 ? "gaining " : "slowing ") + rate + " rpm/s";
    }

    /// <summary>When a spin will end.</summary>
    public static string Ends(LiveForecast ahead) =>
        $"{Numbers.Clock(ahead.RemainingS)}, 95 % interval {Numbers.Clock(ahead.LowS)} to {Numbers.Clock(ahead.HighS)}" + (ahead.EndFrom == "assumed" ? Text($", end at {ahead.EndRpm:0} rpm assumed") : "");

    /// <summary>What was lost on the way from the board.</summary>
    public static string Losses(LiveState live)
    {
        string text = $"{Numbers.Count(live.Counts.LostOnLine)} lost, {Numbers.Count(live.Counts.BadLines)} bad lines, "
            + $"{Numbers.Count(live.Counts.DroppedByBoard)} dropped by board";
        return live.Counts.BytesLost > 0 ? text + $", {Numbers.Bytes(live.Counts.BytesLost)} lost by this computer" : text;
    }

    /// <summary>What a sensor of the air says.</summary>
    public static string Air(LiveAir air)
    {
        string said = air.Last.IsEmpty ? "" : Air(air.Last.TemperatureC, air.Last.PressureHPa, air.Last.HumidityPct);
        string all = string.Join("; ", new[] { said, air.Problem ?? "" }.Where(t => t.Length > 0));
        return $"{air.Sensor}: {(all.Length > 0 ? all : "not read yet")}";
    }

    /// <summary>Temperature, pressure and humidity, as far as they are known.</summary>
    public static string Air(double temperatureC, double pressureHPa, double humidityPct) => string.Join(", ", new[]
    {
        double.IsNaN(temperatureC) ? "" : Text($"{temperatureC:0.0} °C"),
        double.IsNaN(pressureHPa) ? "" : Text($"{pressureHPa:0.0} hPa"),
        double.IsNaN(humidityPct) ? "" : Text($"{humidityPct:0} % humidity"),
    }.Where(t => t.Length > 0));

    /// <summary>One line for a log.</summary>
    public static string Line(LiveState live)
    {
        var parts = new List<string> { Phase(live) };
        if (double.IsFinite(live.LampHz)) parts.Add(Lamp(live.LampHz));
        if (double.IsFinite(live.Rpm)) parts.Add($"{Numbers.Measured(live.Rpm, live.URpm)} rpm");
        if (double.IsFinite(live.DecelRpmPerS)) parts.Add(Slowing(live.DecelRpmPerS));
        if (double.IsFinite(live.SinceReleaseS)) parts.Add($"{Numbers.Clock(live.SinceReleaseS)} since release");
        if (live.Forecast is { } ahead) parts.Add("ends in " + Ends(ahead));
        parts.Add(live.Phase == RunPhase.Waiting
            ? $"{Numbers.Count(live.Counts.Received)} pulses"
            : $"{Numbers.Count(live.Marks)} marks, {Numbers.Count(live.Missed)} missed, {Numbers.Count(live.Extra)} extra");
        parts.Add(Losses(live));
        return string.Join("; ", parts);
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
