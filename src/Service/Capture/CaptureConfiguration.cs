using System.Globalization;
using System.Text.Json;
using Acquire.Service.Commands;
using Microsoft.Extensions.Configuration;

namespace Acquire.Service.Capture;

/// <summary>The layers that a capture's settings come from, the later winning: appsettings.json beside the program, the one in the
/// current folder, variables that begin with ACQUIRE_, the command line.</summary>
internal sealed class CaptureConfiguration
{
    private const string FileName = "appsettings.json";
    private const string Prefix = "ACQUIRE_";
    private const string LibraryVariable = "ACQUIRE_LIBRARY";

    private readonly IReadOnlyList<string> _files;

    private CaptureConfiguration(IConfigurationRoot root, IReadOnlyList<string> files)
    {
        Root = root;
        _files = files;
    }

    /// <summary>All layers as one.</summary>
    public IConfigurationRoot Root { get; }

    /// <summary>Puts the layers together.</summary>
    /// <param name="surroundings">Folders and environment.</param>
    /// <param name="commandLine">What the command line gave, by full key.</param>
    /// <param name="problem">Where a file cannot be read: which, where and why; else null.</param>
    public static CaptureConfiguration? Load(
        Surroundings surroundings, IReadOnlyDictionary<string, string?> commandLine, out string? problem)
    {
        problem = null;
        var builder = new ConfigurationBuilder();
        string[] files = [.. Files(surroundings)];
        foreach (string file in files) builder.AddJsonFile(file, optional: true, reloadOnChange: false);
        builder.AddInMemoryCollection(FromEnvironment(surroundings.Environment));
        builder.AddInMemoryCollection(commandLine);
        try
        {
            return new CaptureConfiguration(builder.Build(), files);
        }
        catch (InvalidDataException e)
        {
            problem = Explain(e, files);
            return null;
        }
    }

    /// <summary>Reads the options and lists everything that is wrong with them.</summary>
    public (CaptureOptions Options, IReadOnlyList<string> Problems) Read()
    {
        var options = new CaptureOptions();
        var problems = new List<SettingProblem>();
        IConfigurationSection section = Root.GetSection(CaptureSettings.Section);
        foreach (IConfigurationSection entry in section.GetChildren())
        {
            if (entry.Key.Equals(CaptureSettings.FactorsKey, StringComparison.OrdinalIgnoreCase)) ReadFactors(entry, options, problems);
            else ReadSetting(entry, options, problems);
        }

        ChooseSource(options);
        problems.AddRange(CaptureOptionsValidator.Problems(options));
        return (options, [.. problems.Select(p => p.Text(Origin(p.Key)))]);
    }

    private static void ReadSetting(IConfigurationSection entry, CaptureOptions options, List<SettingProblem> problems)
    {
        string text = entry.Value ?? "";
        if (CaptureSettings.ByKey(entry.Key) is { } setting)
        {
            if (!setting.TryRead(text, options)) problems.Add(new(setting.Key, setting.Option, text, setting.Allowed));
            return;
        }

        string[] keys = [.. CaptureSettings.All.Select(s => s.Key), CaptureSettings.FactorsKey];
        string? nearest = NearestName.To(entry.Key, keys);
        string allowed = nearest is null ? "one of the settings " + string.Join(", ", keys) : $"a known setting, such as {nearest}";
        problems.Add(new(entry.Key, $"{CaptureSettings.Section}:{entry.Key}", text, allowed));
    }

    private static void ReadFactors(IConfigurationSection factors, CaptureOptions options, List<SettingProblem> problems)
    {
        foreach (IConfigurationSection factor in factors.GetChildren())
        {
            if (double.TryParse(factor.Value, NumberStyles.Float, CultureInfo.InvariantCulture, out double value))
                options.Factors[factor.Key] = value;
            else
                problems.Add(new(CaptureOptionsValidator.FactorKey(factor.Key), CaptureSettings.FactorOption, $"{factor.Key}={factor.Value}", "name=number"));
        }
    }

    // A GPIO line on the command line takes the place of a port in a file, and the other way round.
    private void ChooseSource(CaptureOptions options)
    {
        (int port, int gpio) = (Layer(CaptureSettings.Section + ":Port"), Layer(CaptureSettings.Section + ":Gpio"));
        if (options.Gpio.Length > 0 && gpio > port) options.Port = "";
        else if (options.Port.Length > 0 && port > gpio) options.Gpio = "";
    }

    /// <summary>The last layer that gives a value; −1 where none does.</summary>
    private int Layer(string full)
    {
        IConfigurationProvider[] providers = [.. Root.Providers];
        return Array.FindLastIndex(providers, provider => provider.TryGet(full, out _));
    }

    /// <summary>Which layer gave a value, with the line where it is a file; null for a default.</summary>
    private string? Origin(string key)
    {
        string full = CaptureSettings.Section + ":" + key;
        int layer = Layer(full);
        if (layer < 0) return null;
        if (layer == _files.Count + 1) return "on the command line";
        return layer == _files.Count ? "in the environment" : $"in {_files[layer]}{JsonLines.LineOf(_files[layer], full.Split(':'))}";
    }

    private static IEnumerable<string> Files(Surroundings surroundings) =>
        new[] { surroundings.ProgramFolder, surroundings.CurrentFolder }
            .Select(folder => Path.Combine(Path.GetFullPath(folder), FileName))
            .Distinct(StringComparer.Ordinal);

    private static Dictionary<string, string?> FromEnvironment(IReadOnlyDictionary<string, string> environment)
    {
        var settings = new Dictionary<string, string?>(StringComparer.OrdinalIgnoreCase);
        string libraryKey = CaptureSettings.Section + ":Library";
        if (environment.TryGetValue(LibraryVariable, out string? library) && library.Length > 0) settings[libraryKey] = library;
        foreach ((string name, string value) in environment)
        {
            if (name == LibraryVariable || !name.StartsWith(Prefix, StringComparison.OrdinalIgnoreCase)) continue;
            settings[name[Prefix.Length..].Replace("__", ConfigurationPath.KeyDelimiter, StringComparison.Ordinal)] = value;
        }

        return settings;
    }

    private static string Explain(InvalidDataException error, IEnumerable<string> files)
    {
        string file = files.FirstOrDefault(f => error.Message.Contains(f, StringComparison.Ordinal)) ?? FileName;
        for (Exception? inner = error; inner is not null; inner = inner.InnerException)
        {
            if (inner is JsonException json) return $"{file}, line {json.LineNumber + 1}: this is not JSON; {json.Message}";
        }

        return $"{file}: {error.InnerException?.Message ?? error.Message}";
    }
}
