using System.CommandLine;
using Acquire.Recording;
using Acquire.Service.Capture;

namespace Acquire.Service.Commands;

/// <summary>The option <c>--library</c> of the commands that read runs, and what it means where it is not given.</summary>
internal sealed class LibraryOption
{
    private const string DescriptorFile = "datapackage.json";

    /// <summary>The option for a command.</summary>
    public Option<string> Option { get; } = new("--library")
    {
        HelpName = "DIR",
        Description = "The folder of the runs. [default: ACQUIRE_LIBRARY, else what appsettings.json says, else runs]",
    };

    /// <summary>Finds the library.</summary>
    /// <returns>Its full path; or null with what is wrong in <paramref name="problem"/>.</returns>
    public string? Folder(ParseResult call, Surroundings surroundings, out string? problem)
    {
        string? given = call.GetValue(Option);
        var layer = new Dictionary<string, string?>();
        if (given is not null) layer[CaptureSettings.Section + ":Library"] = given;
        CaptureConfiguration? configuration = CaptureConfiguration.Load(surroundings, layer, out problem);
        if (configuration is null) return null;
        string? named = configuration.Root[CaptureSettings.Section + ":Library"];
        string folder = surroundings.FullPath(string.IsNullOrWhiteSpace(named) ? new CaptureOptions().Library : named);
        if (Directory.Exists(folder) || (given is null && !File.Exists(folder))) return folder;
        problem = $"--library: there is no folder '{folder}'";
        return null;
    }

    /// <summary>Finds a run by its path or by its name in the library.</summary>
    /// <returns>Its full path; or null with what is wrong in <paramref name="problem"/>.</returns>
    public static string? Run(string run, string library, Surroundings surroundings, out string? problem)
    {
        string? folder = Find(run, library, surroundings);
        problem = folder is not null ? null : NotFound(run, library);
        return folder;
    }

    /// <summary>A run or another folder, by its path or its name in the library; null where there is none.</summary>
    public static string? Find(string name, string library, Surroundings surroundings)
    {
        if (string.IsNullOrWhiteSpace(name)) return null;
        string asPath = surroundings.FullPath(name);
        return RunLibrary.Resolve(File.Exists(Path.Combine(asPath, DescriptorFile)) ? asPath : name, library)
            ?? (Directory.Exists(asPath) ? asPath : null);
    }

    /// <summary>True for the folder of a run, also one that has lost its descriptor.</summary>
    public static bool IsRun(string folder, string library) =>
        File.Exists(Path.Combine(folder, DescriptorFile))
        || File.Exists(Path.Combine(folder, "pulses.csv"))
        || File.Exists(Path.Combine(folder, "speed.csv"))
        || Path.GetDirectoryName(folder) == Path.TrimEndingDirectorySeparator(library);

    private static string NotFound(string run, string library)
    {
        string[] names = [.. RunLibrary.List(library).Select(r => r.Name)];
        string? nearest = NearestName.To(run, names);
        string hint = nearest is not null ? $"; did you mean {nearest}?" : $" ({names.Length} runs there; acquire runs lists them)";
        return $"there is no run '{run}': neither a folder of that path nor one of that name in {library}{hint}";
    }
}
