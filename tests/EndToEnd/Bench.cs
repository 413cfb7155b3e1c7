using Acquire.Recording;

namespace Acquire.EndToEnd.Tests;

/// <summary>A folder for one test: a link to the port, a library; gone afterwards.</summary>
internal sealed class Bench : IDisposable
{
    public Bench() => Folder = Directory.CreateTempSubdirectory("acquire-e2e-").FullName;

    public string Folder { get; }

    public string Port => Path.Combine(Folder, "board");

    public string Library => Path.Combine(Folder, "runs");

    public async Task PortIsThere()
    {
        for (int i = 0; i < 400 && !File.Exists(Port); i++)
            await Task.Delay(TimeSpan.FromMilliseconds(50), TimeProvider.System);
        if (!File.Exists(Port))
            throw new TimeoutException("The simulated board put up no port within 20 s.");
    }

    /// <summary>The one run that the library holds, verified.</summary>
    public string OnlyRun()
    {
        LibraryRun run = RunLibrary.List(Library).Single();
        IEnumerable<string> problems = RunVerifier.VerifyLibrary(Library).Select(p => p.ToString()!);
        string found = string.Join("; ", problems);
        return found.Length == 0 ? run.Folder : throw new InvalidDataException(found);
    }

    public void Dispose() => Directory.Delete(Folder, recursive: true);
}
