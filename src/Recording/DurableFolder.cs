using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace Acquire.Recording;

/// <summary>Makes names in a folder survive a power cut: the entry of a new or renamed file is durable only once its folder is synced.</summary>
public static partial class DurableFolder
{
    private const int ReadOnly = 0;
    private const int CloseOnExecLinux = 0x80000;
    private const int CloseOnExecMac = 0x1000000;

    /// <summary>Makes a folder, and those above it that are missing, so that they survive a power cut.</summary>
    /// <exception cref="IOException">It cannot be made or synced.</exception>
    public static void Make(string folder)
    {
        string full = Path.TrimEndingDirectorySeparator(Path.GetFullPath(folder));
        if (Directory.Exists(full))
            return;
        string? above = Path.GetDirectoryName(full);
        if (above is not null)
            Make(above);
        Directory.CreateDirectory(full);
        if (above is not null)
            Sync(above);
    }

    /// <summary>Syncs the folder. Windows has no such call and keeps its folder entries in a log of its own.</summary>
    /// <exception cref="IOException">The folder cannot be opened or synced.</exception>
    public static void Sync(string folder)
    {
        if (OperatingSystem.IsWindows())
            return;
        // O_DIRECTORY is left out: its value differs between processors.
        int flags = ReadOnly | (OperatingSystem.IsMacOS() ? CloseOnExecMac : CloseOnExecLinux);
        using SafeFileHandle handle = Open(folder, flags);
        if (handle.IsInvalid)
            throw new IOException($"Cannot open the folder {folder} to sync it: {Marshal.GetLastPInvokeErrorMessage()}.");
        RandomAccess.FlushToDisk(handle);
    }

    [LibraryImport("libc", EntryPoint = "open", StringMarshalling = StringMarshalling.Utf8, SetLastError = true)]
    private static partial SafeFileHandle Open(string path, int flags);
}
