using Microsoft.Win32.SafeHandles;

namespace Acquire.Recording;

/// <summary>The file under a journal, without any buffer: what it took is with the system, what it synced is on the disk.
/// Not sealed, so that the tests can put a disk that fails in its place.</summary>
internal class JournalFile : IDisposable
{
    private readonly SafeFileHandle _handle;

    /// <exception cref="IOException">The file cannot be made or opened.</exception>
    public JournalFile(string path, FileMode mode)
    {
        Path = path;
        _handle = File.OpenHandle(path, mode, FileAccess.ReadWrite, FileShare.Read);
    }

    public string Path { get; }

    public long Length => RandomAccess.GetLength(_handle);

    /// <summary>Makes a file that survives a power cut, under another name where the first is taken.</summary>
    public static JournalFile Make(string path, Func<string> nextPath)
    {
        while (File.Exists(path))
            path = System.IO.Path.GetFullPath(nextPath());
        string folder = System.IO.Path.GetDirectoryName(path) ?? path;
        DurableFolder.Make(folder);
        var file = new JournalFile(path, FileMode.CreateNew);
        try
        {
            DurableFolder.Sync(folder);
            return file;
        }
        catch (IOException)
        {
            file.Dispose();
            File.Delete(path);
            throw;
        }
    }

    /// <summary>Opens a file and takes off what comes behind so many bytes.</summary>
    public static JournalFile OpenWhole(string path, long wholeBytes)
    {
        var file = new JournalFile(path, FileMode.Open);
        if (file.Length > wholeBytes)
            file.Truncate(wholeBytes);
        return file;
    }

    public virtual void Write(long position, ReadOnlySpan<byte> bytes) => RandomAccess.Write(_handle, bytes, position);

    public virtual void Truncate(long length) => RandomAccess.SetLength(_handle, length);

    public virtual void Sync() => RandomAccess.FlushToDisk(_handle);

    public void Dispose()
    {
        Dispose(true);
        GC.SuppressFinalize(this);
    }

    protected virtual void Dispose(bool disposing)
    {
        if (disposing)
            _handle.Dispose();
    }
}
