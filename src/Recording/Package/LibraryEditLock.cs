namespace Acquire.Recording;

/// <summary>Lets one program at a time change the descriptors and folders of a library's finished runs. The lock is the system's and goes with the
/// process; its file stays. Captures and readers do not need it: they never change a finished run, and a descriptor is replaced whole.</summary>
internal static class LibraryEditLock
{
    private const string FileName = ".edit.lock";
    private const int StepMs = 20;

    /// <summary>Takes the lock.</summary>
    /// <param name="library">The library's folder.</param>
    /// <param name="wait">How long to wait for another.</param>
    /// <exception cref="IOException">Another held it all the time, or the folder cannot be written.</exception>
    public static IDisposable Take(string library, TimeSpan wait)
    {
        string path = Path.Combine(library, FileName);
        long began = TimeProvider.System.GetTimestamp();
        using var never = new ManualResetEventSlim();
        while (true)
        {
            try
            {
                return new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None, 1, FileOptions.None);
            }
            catch (IOException) when (File.Exists(path))
            {
                if (TimeProvider.System.GetElapsedTime(began) > wait)
                    throw new IOException($"Another program has been changing runs in {library} for {wait.TotalSeconds:F0} s: try again when it is done.");
                never.Wait(StepMs);
            }
        }
    }
}
