namespace Acquire.Recording;

/// <summary>A run of a library.</summary>
/// <param name="Name">Name of its folder.</param>
/// <param name="Folder">Full path of its folder.</param>
/// <param name="Descriptor">Its descriptor, or null where it cannot be read.</param>
/// <param name="Problem">Why the descriptor cannot be read, or null.</param>
public sealed record LibraryRun(string Name, string Folder, RunDescriptor? Descriptor, string? Problem);

/// <summary>The folder of the runs.</summary>
public static class RunLibrary
{
    /// <summary>Name of the folder within the library that holds journals of captures under way or not yet finished.</summary>
    public const string OpenFolder = ".open";

    /// <summary>All runs, by their start, also those whose descriptor cannot be read. Folders whose names begin with a dot are no runs.</summary>
    /// <param name="libraryFolder">The library; one that does not exist has no runs.</param>
    /// <exception cref="IOException">The folder cannot be listed.</exception>
    public static IReadOnlyList<LibraryRun> List(string libraryFolder)
    {
        if (!Directory.Exists(libraryFolder))
            return [];
        return
        [
            .. Directory.EnumerateDirectories(Path.GetFullPath(libraryFolder))
                .Where(folder => !Path.GetFileName(folder).StartsWith('.'))
                .Select(Read)
                .OrderBy(run => run.Descriptor?.StartedAt ?? RunName.StartOf(run.Name) ?? DateTimeOffset.MaxValue)
                .ThenBy(run => run.Name, StringComparer.Ordinal),
        ];
    }

    /// <summary>Full path of a run's folder, given by its path or by its name within the library.</summary>
    /// <returns>Null where there is no such folder.</returns>
    public static string? Resolve(string nameOrPath, string libraryFolder)
    {
        if (string.IsNullOrWhiteSpace(nameOrPath))
            return null;
        string inLibrary = Path.GetFullPath(Path.Combine(libraryFolder, nameOrPath));
        string asPath = Path.GetFullPath(nameOrPath);
        if (File.Exists(Path.Combine(asPath, DataPackageFile.FileName)))
            return Path.TrimEndingDirectorySeparator(asPath);
        if (Directory.Exists(inLibrary))
            return Path.TrimEndingDirectorySeparator(inLibrary);
        return Directory.Exists(asPath) ? Path.TrimEndingDirectorySeparator(asPath) : null;
    }

    private static LibraryRun Read(string folder)
    {
        string name = Path.GetFileName(folder);
        try
        {
            return new LibraryRun(name, folder, RunPackageReader.ReadDescriptor(folder), null);
        }
        catch (Exception e) when (e is RunFormatException or IOException or UnauthorizedAccessException)
        {
            return new LibraryRun(name, folder, null, e.Message);
        }
    }
}
