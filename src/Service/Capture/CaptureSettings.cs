namespace Acquire.Service.Capture;

/// <summary>All settings of a capture. The command line, its help, the reading of the configuration and the validator are made from this table.</summary>
internal static class CaptureSettings
{
    /// <summary>The section of the configuration.</summary>
    public const string Section = "Capture";

    /// <summary>The key below the section under which factors stand by name.</summary>
    public const string FactorsKey = "Factors";

    /// <summary>The option that gives one factor.</summary>
    public const string FactorOption = "--factor";

    /// <summary>The settings with one value each.</summary>
    public static readonly IReadOnlyList<CaptureSetting> All =
    [
        new TextSetting("Port", "--port", "PORT", "The serial port of the sensor, such as /dev/ttyACM0 or COM3.",
            200, true, o => o.Port, (o, v) => o.Port = v),
        new TextSetting("Gpio", "--gpio", "CHIP:LINE", "In place of a port, a GPIO line of this computer, such as pinctrl-rp1:GPIO17: a chip's label, name or number, a line's name or number; 'list' prints those that there are.",
            200, false, o => o.Gpio, (o, v) => o.Gpio = v),
        new ChoiceSetting("GpioEdge", "--gpio-edge", "With --gpio: which edge a mark begins with.",
            ["falling", "rising"], o => o.GpioEdge, (o, v) => o.GpioEdge = v),
        new FlagSetting("GpioWidths", "--gpio-widths", "With --gpio: both edges, for the widths of pulses. The kernel tells rising from falling by the level a little later, so that edges which bounce may be taken for each other.",
            o => o.GpioWidths, (o, v) => o.GpioWidths = v),
        new ChoiceSetting("GpioBias", "--gpio-bias", "With --gpio: the chip's own resistor, where it has one: for a sensor that only pulls down, only pulls up, or has its own.",
            ["pull-up", "pull-down", "none"], o => o.GpioBias, (o, v) => o.GpioBias = v),
        new NumberSetting("Baud", "--baud", "N", "Bits a second on the line.",
            300, 4_000_000, true, o => o.Baud, (o, v) => o.Baud = (int)v),
        new ChoiceSetting("Format", "--format",
            "What a line means: this project's own pulse lines, a counter's ticks, the time between two pulses, or a speed.",
            ["pulse-lines", "ticks", "interval", "rpm"], o => o.Format, (o, v) => o.Format = v),
        new NumberSetting("TickHz", "--tick-hz", "HZ", "Ticks a second of the board's counter; what the board says of itself wins.",
            1, 1_000_000_000, false, o => o.TickHz, (o, v) => o.TickHz = v),
        new ChoiceSetting("Clock", "--clock",
            "Whose seconds count: this computer's, against which the board's clock is measured all the time, or those of the board's nominal rate, measured by nobody.",
            ["host", "board"], o => o.Clock, (o, v) => o.Clock = v),
        new NumberSetting("ClockLimitPpm", "--clock-limit", "PPM",
            "With --clock board: how far the board may be off either way, parts per million; 100 for a crystal, 5000 for a ceramic resonator.",
            0.1, 10_000, false, o => o.ClockLimitPpm, (o, v) => o.ClockLimitPpm = v),
        new NumberSetting("Marks", "--marks", "N", "Marks on the body.",
            1, 8, true, o => o.Marks, (o, v) => o.Marks = (int)v),
        new TextSetting("Library", "--library", "DIR", "The folder of the runs; also ACQUIRE_LIBRARY.",
            1000, true, o => o.Library, (o, v) => o.Library = v),
        new FlagSetting("Once", "--once", "End after the first finished run and print its folder.",
            o => o.Once, (o, v) => o.Once = v),
        new NumberSetting("TimeScale", "--time-scale", "X", "How many times faster than the clock on the wall the source's time runs (replay, demo).",
            0.001, 100_000, false, o => o.TimeScale, (o, v) => o.TimeScale = v),
        new FlagSetting("Wait", "--wait", "Wait for a port that is not there yet.",
            o => o.Wait, (o, v) => o.Wait = v),
        new TextSetting("Top", "--top", "NAME", "The spinning body.",
            100, false, o => o.Top, (o, v) => o.Top = v),
        new TextSetting("Base", "--base", "NAME", "What it spins on.",
            100, false, o => o.Base, (o, v) => o.Base = v),
        new TextSetting("Cover", "--cover", "NAME", "An enclosure round it.",
            100, false, o => o.Cover, (o, v) => o.Cover = v),
        new TextSetting("Operator", "--operator", "NAME", "Who launches it.",
            100, false, o => o.Operator, (o, v) => o.Operator = v),
        new TextSetting("Note", "--note", "TEXT", "Anything else about the run.",
            2000, false, o => o.Note, (o, v) => o.Note = v),
        new TextSetting("Plan", "--plan", "FILE", "A plan to be followed (acquire plan): each run gets the set-up of its next row, which is said before the launch; ends when every row has its run. What the plan says of the set-up wins over other options.",
            1000, false, o => o.Plan, (o, v) => o.Plan = v),
        new TextSetting("Air", "--air", "SENSOR", $"Sensors of the air on I²C, read each 10 s into the run's environment.csv: {Acquisition.Air.AirSensorName.Allowed}.",
            200, false, o => o.Air, (o, v) => o.Air = v),
        new OptionalNumberSetting("TemperatureC", "--temperature", "C", "The air's temperature, entered by hand, °C.",
            -50, 60, o => o.TemperatureC, (o, v) => o.TemperatureC = v),
        new OptionalNumberSetting("PressureHPa", "--pressure", "HPA", "Its pressure at the place itself, not brought down to sea level, entered by hand, hPa.",
            300, 1200, o => o.PressureHPa, (o, v) => o.PressureHPa = v),
        new OptionalNumberSetting("HumidityPct", "--humidity", "PCT", "Its relative humidity, entered by hand, percent.",
            0, 100, o => o.HumidityPct, (o, v) => o.HumidityPct = v),
        new NumberSetting("GridS", "--grid", "S", "Step of speed.csv, seconds.",
            0.01, 60, false, o => o.GridS, (o, v) => o.GridS = v),
        new NumberSetting("StopBelowRpm", "--stop-below", "RPM",
            "Below this speed, or below a quarter of the peak if that is more, a spin may end by itself.",
            1, 100_000, false, o => o.StopBelowRpm, (o, v) => o.StopBelowRpm = v),
        new NumberSetting("StopWaitS", "--stop-wait", "S", "How long marks must be away before a spin that slow counts as stopped, seconds; up to ten times as long where no other pulse shows that the sensor still sees.",
            1, 3600, false, o => o.StopWaitS, (o, v) => o.StopWaitS = v),
        new NumberSetting("LostWaitS", "--lost-wait", "S", "How long marks that ceased at speed are waited for, seconds.",
            1, 86_400, false, o => o.LostWaitS, (o, v) => o.LostWaitS = v),
        new NumberSetting("MaxRpm", "--max-rpm", "RPM", "Faster than any launch; what comes quicker is bounce.",
            60, 1_000_000, false, o => o.MaxRpm, (o, v) => o.MaxRpm = v),
        new TextSetting("LogFile", "--log-file", "FILE", "A file for the log, beside standard error. Further ones get _001 and so on before the ending.",
            1000, false, o => o.LogFile, (o, v) => o.LogFile = v),
        new NumberSetting("LogFileMb", "--log-file-mb", "MB", "The size at which a log file is followed by another, megabytes.",
            0.01, 1000, false, o => o.LogFileMb, (o, v) => o.LogFileMb = v),
        new NumberSetting("LogFiles", "--log-files", "N", "How many log files are kept; older ones are deleted.",
            1, 1000, true, o => o.LogFiles, (o, v) => o.LogFiles = (int)v),
        new NumberSetting("JournalMemoryMb", "--journal-memory", "MB",
            "Memory in which data may wait for a disk that is full or fails, MiB; beyond it what comes is lost and counted.",
            4, 1024, true, o => o.JournalMemoryMb, (o, v) => o.JournalMemoryMb = (int)v),
    ];

    /// <summary>The setting with this key, whatever its case, or null.</summary>
    public static CaptureSetting? ByKey(string key) => All.FirstOrDefault(s => s.Key.Equals(key, StringComparison.OrdinalIgnoreCase));

    /// <summary>Splits <c>name=value</c>.</summary>
    public static (string Name, string Value)? SplitFactor(string text)
    {
        int at = text.IndexOf('=', StringComparison.Ordinal);
        return at <= 0 ? null : (text[..at].Trim(), text[(at + 1)..].Trim());
    }
}
