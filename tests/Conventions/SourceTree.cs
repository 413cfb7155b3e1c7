namespace Acquire.Conventions.Tests;

/// <summary>The checkout as files.</summary>
internal static class SourceTree
{
    /// <summary>The parts in the order in which a pulse passes them.</summary>
    public static readonly string[] Parts = ["Acquisition", "Conditioning", "Motion", "Recording", "Results", "Service"];

    public static readonly string Root = FindRoot();

    /// <summary>Files below a folder of the checkout, what the build made left out.</summary>
    public static IEnumerable<string> Files(string folder, string pattern) =>
        Directory.EnumerateFiles(Path.Combine(Root, folder), pattern, SearchOption.AllDirectories)
            .Where(f => !f.Split(Path.DirectorySeparatorChar).Any(p => p is "bin" or "obj" or "build"));

    private static string FindRoot()
    {
        string? folder = AppContext.BaseDirectory;
        while (folder is not null && !File.Exists(Path.Combine(folder, "Acquire.sln")))
            folder = Path.GetDirectoryName(folder);
        return folder ?? throw new InvalidOperationException("The tests run from inside the checkout: no Acquire.sln above them.");
    }
}
