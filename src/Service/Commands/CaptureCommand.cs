using System.CommandLine;
using Acquire.Acquisition;
using Acquire.Acquisition.Gpio;
using Acquire.Acquisition.Serial;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Page;
using Acquire.Service.Plans;

namespace Acquire.Service.Commands;

/// <summary><c>acquire capture</c>: records runs from a sensor.</summary>
internal static class CaptureCommand
{
    private static readonly string[] Examples =
    [
        "acquire capture --port /dev/ttyACM0 --top oak-rim --base glass --factor dish_radius_mm=80 --once",
        "acquire capture --port COM3 --marks 2 --library spins",
        "acquire capture --gpio pinctrl-rp1:GPIO17 --top oak-rim",
        "acquire capture --port /dev/ttyACM0 --top oak-rim --plan plan.csv",
        "acquire capture --port /dev/ttyACM0 --air bme280@1:0x76",
        "ACQUIRE_CAPTURE__PORT=/dev/ttyUSB0 acquire capture",
    ];

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("capture", "Record runs: wait for a launch, follow the spin, save it when it ends.");
        Dictionary<CaptureSetting, Option<string>> options = Add(command, CaptureSettings.All);
        var factors = new Option<string[]>(CaptureSettings.FactorOption)
        {
            Description = "A numeric factor of the set-up, the unit in its name, such as dish_radius_mm=80; may be given again.",
            HelpName = "name=value",
        };
        command.Options.Add(factors);
        command.SetAction(call => Run(surroundings, command.Name, Given(call, options), call.GetValue(factors) ?? []));
        HelpText.Attach(command, Examples);
        return command;
    }

    /// <summary>Adds the options of settings to a command.</summary>
    internal static Dictionary<CaptureSetting, Option<string>> Add(Command command, IEnumerable<CaptureSetting> settings)
    {
        var defaults = new CaptureOptions();
        var options = new Dictionary<CaptureSetting, Option<string>>();
        foreach (CaptureSetting setting in settings)
        {
            options[setting] = new Option<string>(setting.Option)
            {
                Description = Describe(setting, defaults),
                HelpName = setting.Argument,
                Arity = setting.IsFlag ? ArgumentArity.ZeroOrOne : ArgumentArity.ExactlyOne,
            };
            command.Options.Add(options[setting]);
        }

        return options;
    }

    private static string Describe(CaptureSetting setting, CaptureOptions defaults)
    {
        string value = setting.Value(defaults);
        string allowed = setting is NumberSetting or OptionalNumberSetting ? $" {char.ToUpperInvariant(setting.Allowed[0])}{setting.Allowed[1..]}" : "";
        string unless = value.Length == 0 || (setting.IsFlag && value == "false") ? "" : $" [default: {value}]";
        return setting.Help + (allowed.Length > 0 ? allowed + "." : "") + unless;
    }

    /// <summary>What a call gave of them, by full key.</summary>
    internal static Dictionary<string, string?> Given(ParseResult call, Dictionary<CaptureSetting, Option<string>> options)
    {
        var given = new Dictionary<string, string?>(StringComparer.OrdinalIgnoreCase);
        foreach ((CaptureSetting setting, Option<string> option) in options)
        {
            if (call.GetResult(option) is not { Implicit: false } result) continue;
            given[$"{CaptureSettings.Section}:{setting.Key}"] = result.Tokens.Count == 0 ? "true" : result.Tokens[0].Value;
        }

        return given;
    }

    /// <summary>Captures.</summary>
    /// <param name="surroundings">Where it runs.</param>
    /// <param name="name">Name of the command; <c>serve</c> serves the page besides.</param>
    /// <param name="given">What the call gave, by full key.</param>
    /// <param name="factors">Factors that it gave.</param>
    /// <returns>One of <see cref="ExitCode"/>.</returns>
    internal static int Run(Surroundings surroundings, string name, Dictionary<string, string?> given, string[] factors)
    {
        var problems = new List<string>();
        foreach (string factor in factors)
        {
            if (CaptureSettings.SplitFactor(factor) is not { } split || split.Name.Contains(':', StringComparison.Ordinal))
                problems.Add($"{CaptureSettings.FactorOption}: '{factor}' on the command line; allowed is name=number");
            else if (!given.TryAdd($"{CaptureSettings.Section}:{CaptureOptionsValidator.FactorKey(split.Name)}", split.Value))
                problems.Add($"{CaptureSettings.FactorOption}: '{split.Name}' on the command line is given twice; allowed is one value a name");
        }

        if (CaptureConfiguration.Load(surroundings, given, out string? unreadable) is not { } configuration)
            return surroundings.Refuse(name, unreadable!);

        (CaptureOptions options, IReadOnlyList<string> wrong) = configuration.Read();
        problems.AddRange(wrong);
        if (options.Port.Length + options.Gpio.Length == 0) problems.Add(PortsHere());
        if (problems.Count > 0) return surroundings.Refuse(name, problems);

        if (options.Gpio == GpioList.Word) return GpioList.Print(surroundings);
        options.Library = surroundings.FullPath(options.Library);
        if (File.Exists(options.Library)) return surroundings.Refuse(name, $"--library: '{options.Library}' is a file; allowed is a folder");
        if (options.Plan.Length > 0 && Plan(options, surroundings, out bool complete) is { } noPlan) return complete ? ExitCode.Done : surroundings.Refuse(name, noPlan);
        if (LogFileProblem(options, surroundings) is { } unwritable) return surroundings.Refuse(name, unwritable);
        PageSettings? page = name == ServeCommand.Name ? ServeCommand.Page(configuration.Root, options.Library, surroundings, problems) : null;
        if (problems.Count > 0) return surroundings.Refuse(name, problems);
        DurableFolder.Make(options.Library);
        return new CaptureHost(surroundings, configuration.Root, options, MakeSource, page).Run();
    }

    // What a sheet has wrong is said before anything is begun; and that nothing is left to do.
    private static string? Plan(CaptureOptions options, Surroundings surroundings, out bool complete)
    {
        complete = false;
        options.Plan = surroundings.FullPath(options.Plan);
        try
        {
            if (!File.Exists(options.Plan)) return $"--plan: there is no file '{options.Plan}'; acquire plan --factor name=v1,v2,… makes one";
            PlanSheet sheet = PlanSheetReader.Read(options.Plan);
            if (sheet.OtherColumns.Count > 0) surroundings.Error.WriteLine("acquire capture: --plan: columns that are not the plan's are passed over: " + string.Join(", ", sheet.OtherColumns));
            IEnumerable<PlannedRun> runs = RunLibrary.List(options.Library).Where(r => r.Descriptor is not null).Select(r => new PlannedRun(r.Name, r.Descriptor!));
            complete = PlanProgress.Of(sheet, runs).IsComplete;
            if (!complete) return null;
            surroundings.Error.WriteLine($"acquire capture: every row of {options.Plan} has its run already; acquire edit RUN --spoilt REASON opens a row again.");
            return "";
        }
        catch (Exception e) when (e is RunFormatException or IOException or UnauthorizedAccessException)
        {
            return "--plan: " + e.Message;
        }
    }

    private static string? LogFileProblem(CaptureOptions options, Surroundings surroundings)
    {
        if (options.LogFile.Length == 0) return null;
        options.LogFile = surroundings.FullPath(options.LogFile);
        try
        {
            Directory.CreateDirectory(Path.GetDirectoryName(options.LogFile)!);
            new FileStream(options.LogFile, FileMode.Append, FileAccess.Write, FileShare.ReadWrite).Dispose();
            return null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return $"--log-file: '{options.LogFile}' cannot be written ({e.Message.TrimEnd('.')}); allowed is a file in a folder that may be written";
        }
    }

    /// <summary>The ports that there are, for people; and that GPIO is here where it is.</summary>
    internal static string PortsHere()
    {
        IReadOnlyList<string> ports = SerialLinks.PortNames();
        string here = ports.Count == 0 ? "no serial port is here now" : "serial ports here now: " + string.Join(", ", ports);
        return GpioChips.List().Count == 0 ? here : $"{here}; GPIO is here too: --gpio {GpioList.Word} names its lines";
    }

    private static LinkPulseSource MakeSource(CaptureOptions options, TimeProvider time) => MakeSource(options, options.Wait, time);

    /// <summary>The port or GPIO line that the settings name.</summary>
    internal static LinkPulseSource MakeSource(CaptureOptions options, bool wait, TimeProvider time) => options.GpioLine() is { } line
        ? new GpioPulseSource(line, wait, time)
        : new SerialPulseSource(new SerialSettings { Port = options.Port, Baud = options.Baud }, wait, time);
}
