using Acquire.Acquisition.Gpio;

namespace Acquire.Service.Capture;

/// <summary>Settings of a capture; from appsettings.json (section <c>Capture</c>), ACQUIRE_ environment variables and the command line,
/// the later winning.</summary>
public sealed class CaptureOptions
{
    /// <summary>The serial port's path or name.</summary>
    public string Port { get; set; } = "";

    /// <summary>The GPIO line, <c>CHIP:LINE</c>, in place of a port; empty for none.</summary>
    public string Gpio { get; set; } = "";

    /// <summary>Which edge of the line is a mark's leading one: <c>falling</c> or <c>rising</c>.</summary>
    public string GpioEdge { get; set; } = "falling";

    /// <summary>Ask the line for both edges, for the widths of pulses.</summary>
    public bool GpioWidths { get; set; }

    /// <summary>What pulls the line: <c>pull-up</c>, <c>pull-down</c> or <c>none</c>.</summary>
    public string GpioBias { get; set; } = "pull-up";

    /// <summary>Bits a second, 300 to 4,000,000.</summary>
    public int Baud { get; set; } = 115200;

    /// <summary>What the lines mean: <c>pulse-lines</c>, <c>ticks</c>, <c>interval</c> or <c>rpm</c>.</summary>
    public string Format { get; set; } = "pulse-lines";

    /// <summary>Ticks a second of the board's counter; what the board says of itself wins.</summary>
    public double TickHz { get; set; } = 2_000_000;

    /// <summary>Which clock the run's seconds are of: <c>host</c>, the board's ticks calibrated by the host's clock, or <c>board</c>, the board's
    /// nominal rate taken at its word.</summary>
    public string Clock { get; set; } = "host";

    /// <summary>With <c>board</c>: how far its clock may be off either way, parts per million. 100 covers a crystal with its temperature and
    /// age, 5,000 a ceramic resonator.</summary>
    public double ClockLimitPpm { get; set; } = 100;

    /// <summary>Marks on the body, 1 to 8.</summary>
    public int Marks { get; set; } = 1;

    /// <summary>The folder of the runs.</summary>
    public string Library { get; set; } = "runs";

    /// <summary>End after the first finished run.</summary>
    public bool Once { get; set; }

    /// <summary>How many times faster than the host's the source's time runs (replay, demo); 0.001 to 100,000.</summary>
    public double TimeScale { get; set; } = 1;

    /// <summary>Wait for a port that is not there.</summary>
    public bool Wait { get; set; } = true;

    /// <summary>The spinning body.</summary>
    public string Top { get; set; } = "";

    /// <summary>What it spins on.</summary>
    public string Base { get; set; } = "";

    /// <summary>An enclosure round it.</summary>
    public string Cover { get; set; } = "";

    /// <summary>Who launches it.</summary>
    public string Operator { get; set; } = "";

    /// <summary>Free text for the run.</summary>
    public string Note { get; set; } = "";

    /// <summary>Numeric factors by name.</summary>
    public Dictionary<string, double> Factors { get; set; } = [];

    /// <summary>The sheet of a plan to be followed; empty for none.</summary>
    public string Plan { get; set; } = "";

    /// <summary>Sensors of the air, such as <c>bme280@1:0x76</c>, with commas between; empty for none.</summary>
    public string Air { get; set; } = "";

    /// <summary>The air's temperature as entered by hand, °C; null where it was not.</summary>
    public double? TemperatureC { get; set; }

    /// <summary>Its pressure at the place itself, hPa.</summary>
    public double? PressureHPa { get; set; }

    /// <summary>Its relative humidity, percent.</summary>
    public double? HumidityPct { get; set; }

    /// <summary>Step of speed.csv, seconds, 0.01 to 60.</summary>
    public double GridS { get; set; } = 1;

    /// <summary>Below this speed, or below a quarter of the peak if that is more, a spin may end by itself; turns a minute.</summary>
    public double StopBelowRpm { get; set; } = 300;

    /// <summary>How long marks must be away before a spin that slow counts as stopped, seconds.</summary>
    public double StopWaitS { get; set; } = 30;

    /// <summary>How long marks that ceased at speed are waited for, seconds.</summary>
    public double LostWaitS { get; set; } = 900;

    /// <summary>Faster than any launch; what comes quicker is bounce. Turns a minute.</summary>
    public double MaxRpm { get; set; } = 12_000;

    /// <summary>A file for the log as well; empty for none.</summary>
    public string LogFile { get; set; } = "";

    /// <summary>A log file that has grown to so many megabytes (10⁶ bytes) is followed by another, 0.01 to 1000.</summary>
    public double LogFileMb { get; set; } = 10;

    /// <summary>How many log files are kept, the present one among them, 1 to 1000.</summary>
    public int LogFiles { get; set; } = 5;

    /// <summary>Memory in which data may wait for a disk that is full or fails, MiB.</summary>
    public int JournalMemoryMb { get; set; } = 64;

    /// <summary>The GPIO line and how to ask for it; null where a port is read.</summary>
    public GpioSettings? GpioLine() => Gpio.Length == 0 ? null : new GpioSettings
    {
        Line = Gpio,
        Edge = GpioEdge == "rising" ? Acquisition.Gpio.GpioEdge.Rising : Acquisition.Gpio.GpioEdge.Falling,
        Widths = GpioWidths,
        Bias = GpioBias switch { "pull-down" => Acquisition.Gpio.GpioBias.PullDown, "none" => Acquisition.Gpio.GpioBias.None, _ => Acquisition.Gpio.GpioBias.PullUp },
    };

    /// <summary>What the source delivers: <see cref="Format"/>, or a GPIO line's.</summary>
    public string SourceFormat() => GpioLine()?.Format ?? Format;

    /// <summary>The air as entered by hand; null where nothing was.</summary>
    internal Recording.AirLooked? AirByHand() => (TemperatureC ?? PressureHPa ?? HumidityPct) is null ? null
        : new(Recording.AirLooked.ByHand, TemperatureC ?? double.NaN, PressureHPa ?? double.NaN, HumidityPct ?? double.NaN);

    /// <summary>The set-up as a run's descriptor holds it.</summary>
    public Recording.RunSetup Setup() => new()
    {
        Top = Top,
        Base = Base,
        Cover = Cover,
        Operator = Operator,
        Note = Note,
        Factors = new SortedDictionary<string, double>(Factors, StringComparer.Ordinal),
    };
}
