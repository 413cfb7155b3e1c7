using System.Diagnostics;

namespace Acquire.Service.Capture;

/// <summary>Only one program at a time captures into a library or recovers it. The lock is the system's and goes with the process, however that
/// ends; the file beside it only says who holds it.</summary>
internal sealed class LibraryLock : IDisposable
{
    private readonly FileStream _held;

    private LibraryLock(FileStream held) => _held = held;

    /// <summary>Takes the lock of a library.</summary>
    /// <param name="library">The library's folder; made where it is not there.</param>
    /// <param name="holder">Who has it, where it is taken; else empty.</param>
    /// <returns>The lock; null where another has it.</returns>
    public static LibraryLock? TryTake(string library, out string holder)
    {
        string folder = Path.Combine(library, CaptureJournals.OpenFolder);
        Recording.DurableFolder.Make(folder);
        string path = Path.Combine(folder, "lock");
        string who = Path.Combine(folder, "lock.holder");
        holder = "";
        try
        {
            // The lock's own file is not readable by others while it is held, so the holder is named in a file beside it.
            var held = new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None, 1, FileOptions.None);
            NameHolder(who);
            return new LibraryLock(held);
        }
        catch (IOException) when (File.Exists(path))
        {
            holder = File.Exists(who) ? File.ReadAllText(who) : "another program";
            return null;
        }
    }

    // A full disk does not take the name, but the lock is held.
    private static void NameHolder(string path)
    {
        using Process self = Process.GetCurrentProcess();
        try
        {
            File.WriteAllText(path, $"{self.ProcessName}, process {self.Id}");
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
        }
    }

    /// <summary>Gives it back. The files stay: a lock on a file that somebody deletes is no lock.</summary>
    public void Dispose() => _held.Dispose();
}
