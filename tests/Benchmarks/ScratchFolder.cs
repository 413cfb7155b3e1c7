namespace Acquire.Benchmarks;

/// <summary>A folder for the time being.</summary>
internal sealed class ScratchFolder : IDisposable
{
    internal ScratchFolder(string parent)
    {
        Path = System.IO.Path.Combine(parent, $"acquire-benchmark-{Guid.NewGuid():N}");
        Directory.CreateDirectory(Path);
    }

    internal string Path { get; }

    public void Dispose() => Directory.Delete(Path, recursive: true);
}
