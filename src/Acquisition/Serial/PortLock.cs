namespace Acquire.Acquisition.Serial;

/// <summary>A lock file per port, since the terminal's own lock lets root pass. The lock is the system's advisory one and goes with its
/// process however that ends; the files stay, because deleting one could take it from under the next holder.</summary>
internal sealed class PortLock : IDisposable
{
    private const string CustomaryFolder = "/run/lock";
    private readonly FileStream? _file;

    private PortLock(FileStream? file) => _file = file;

    /// <summary>Takes the lock. Where no lock file can be made at all the terminal's own lock has to do.</summary>
    /// <returns>Null where another capture has it; <paramref name="holder"/> then says which, if that is known.</returns>
    internal static PortLock? TryTake(string port, string? folder, out string? holder)
    {
        holder = null;
        string name = $"acquire{SerialLinks.RealPath(port).Replace(Path.DirectorySeparatorChar, '-').Replace(':', '-')}";
        string[] folders = folder is not null ? [folder] : [CustomaryFolder, Path.GetTempPath()];
        foreach (string candidate in folders.Where(Directory.Exists))
        {
            string path = Path.Combine(candidate, name + ".lock");
            string who = Path.Combine(candidate, name + ".holder");
            try
            {
                FileStream file = Open(path);
                WriteHolder(who);
                return new PortLock(file);
            }
            catch (UnauthorizedAccessException)
            {
                continue;
            }
            catch (IOException problem) when (IsHeld(problem))
            {
                holder = ReadHolder(who);
                return null;
            }
            catch (IOException)
            {
                continue;
            }
        }

        return new PortLock(null);
    }

    public void Dispose() => _file?.Dispose();

    private static FileStream Open(string path)
    {
        var options = new FileStreamOptions
        {
            Mode = FileMode.OpenOrCreate,
            Access = FileAccess.ReadWrite,
            Share = FileShare.None,
            BufferSize = 0,
        };
        if (!OperatingSystem.IsWindows())
        {
            options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.GroupRead
                | UnixFileMode.GroupWrite | UnixFileMode.OtherRead | UnixFileMode.OtherWrite;
        }

        try
        {
            return new FileStream(path, options);
        }
        catch (UnauthorizedAccessException) when (File.Exists(path))
        {
            // Another user's file: reading is enough to lock it.
            return new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.None, bufferSize: 0);
        }
    }

    // EAGAIN of Linux and of macOS, ERROR_SHARING_VIOLATION of Windows.
    private static bool IsHeld(IOException problem) => problem.HResult is 11 or 35 or unchecked((int)0x80070020);

    private static void WriteHolder(string path)
    {
        try
        {
            string program = Path.GetFileNameWithoutExtension(Environment.ProcessPath) ?? "";
            File.WriteAllText(path, PortHolder.Describe(Environment.ProcessId, program));
        }
        catch (Exception problem) when (problem is IOException or UnauthorizedAccessException)
        {
            // Only the message of whoever finds the port busy is poorer for it.
        }
    }

    private static string? ReadHolder(string path)
    {
        try
        {
            string holder = File.ReadAllText(path);
            return holder.Length is > 0 and < 200 ? holder : null;
        }
        catch (Exception problem) when (problem is IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }
}
