using System.Runtime;
using System.Runtime.InteropServices;

namespace Acquire.Service.Capture;

/// <summary>Keeps what the process holds of the machine's memory as small as what it uses, over weeks.</summary>
internal static partial class ProcessMemory
{
    private const int ArenasAtMost = -8; // M_ARENA_MAX of mallopt(3)

    /// <summary>Has the system's library keep one store of free memory instead of one a thread; before threads are begun. Where it is another
    /// library than glibc nothing changes.</summary>
    public static void ShareArena() => IfGlibc(() => Allocator(ArenasAtMost, 1));

    /// <summary>Gives back what is no longer used: a long run takes tens of megabytes while it is judged, and neither the collector nor the system's
    /// library lets go of them by itself while little else is allocated. Stops the process's threads for some milliseconds; the port's bytes wait
    /// in the kernel for that long.</summary>
    public static void GiveBack()
    {
        GCSettings.LargeObjectHeapCompactionMode = GCLargeObjectHeapCompactionMode.CompactOnce;
        GC.Collect(GC.MaxGeneration, GCCollectionMode.Aggressive, blocking: true, compacting: true);
        IfGlibc(() => Trim(0));
    }

    private static void IfGlibc(Func<int> call)
    {
        if (!OperatingSystem.IsLinux())
            return;
        try
        {
            _ = call();
        }
        catch (Exception e) when (e is EntryPointNotFoundException or DllNotFoundException)
        {
            // Another library of C.
        }
    }

    [LibraryImport("libc", EntryPoint = "mallopt")]
    private static partial int Allocator(int parameter, int value);

    [LibraryImport("libc", EntryPoint = "malloc_trim")]
    private static partial int Trim(nuint keepBytes);
}
