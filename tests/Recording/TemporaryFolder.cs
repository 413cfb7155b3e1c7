namespace Acquire.Recording.Tests;

internal sealed class TemporaryFolder : IDisposable
{
    public string Root { get; } = Directory.CreateTempSubdirectory("acquire-recording-").FullName;

    public string At(params string[] parts) => Path.Combine([Root, .. parts]);

    public void Dispose() => Directory.Delete(Root, recursive: true);
}
