using System.Security.Cryptography;
using Microsoft.Win32.SafeHandles;

namespace Acquire.Recording;

/// <summary>A new file that is hashed while it is written.</summary>
internal sealed class HashedFile(string path) : IDisposable
{
    private readonly SafeFileHandle _handle = File.OpenHandle(path, FileMode.CreateNew, FileAccess.Write, FileShare.Read);
    private readonly IncrementalHash _hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);

    public long Bytes { get; private set; }

    public void Write(ReadOnlySpan<byte> bytes)
    {
        RandomAccess.Write(_handle, bytes, Bytes);
        _hash.AppendData(bytes);
        Bytes += bytes.Length;
    }

    /// <summary>Syncs the file and says what is in it.</summary>
    public WrittenFile Finish()
    {
        RandomAccess.FlushToDisk(_handle);
        return new WrittenFile(Path.GetFileName(path), Bytes, "sha256:" + Convert.ToHexStringLower(_hash.GetHashAndReset()));
    }

    public void Dispose()
    {
        _hash.Dispose();
        _handle.Dispose();
    }
}

/// <summary>What was written.</summary>
internal readonly record struct WrittenFile(string Name, long Bytes, string Hash);
