using Acquire.Recording;

namespace Acquire.Service.Capture;

/// <summary>Tells a recovery of a process that still saves a run, left by a capture that was just killed: it ends by itself, but until then the run could
/// become two. The lock is the system's and goes with the process.</summary>
internal static class StillFinishing
{
    private const int LookEveryMs = 20;
    private const int LongestMs = 30_000;

    /// <summary>Marks that a run is being saved, until disposed of. Several may be at a time.</summary>
    /// <exception cref="IOException">The mark cannot be set.</exception>
    public static IDisposable Enter(string library)
    {
        DurableFolder.Make(Path.GetDirectoryName(At(library))!);
        return Take(library, FileAccess.Read, FileShare.Read) ?? throw new IOException($"{At(library)} is held by another program.");
    }

    /// <summary>Waits until no run is being saved.</summary>
    /// <returns>False where that took too long.</returns>
    public static bool WaitUntilNone(string library)
    {
        if (!File.Exists(At(library)))
            return true;
        using FileStream? alone = Take(library, FileAccess.ReadWrite, FileShare.None);
        return alone is not null;
    }

    private static string At(string library) => Path.Combine(library, CaptureJournals.OpenFolder, "saving");

    private static FileStream? Take(string library, FileAccess access, FileShare share)
    {
        using var never = new ManualResetEventSlim();
        for (int waited = 0; waited < LongestMs; waited += LookEveryMs)
        {
            if (Open(At(library), access, share) is { } taken)
                return taken;
            never.Wait(LookEveryMs);
        }

        return null;
    }

    // A lock that another holds is refused at once: null.
    private static FileStream? Open(string path, FileAccess access, FileShare share)
    {
        try
        {
            return new FileStream(path, FileMode.OpenOrCreate, access, share, 1, FileOptions.None);
        }
        catch (IOException) when (File.Exists(path))
        {
            return null;
        }
    }
}
