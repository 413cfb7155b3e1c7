using System.Buffers.Binary;
using System.Runtime.InteropServices;

namespace Acquire.Acquisition.Clock;

/// <summary>Whether the host's own clock is kept right by a time service, as far as the system tells.</summary>
/// <remarks>The kernel's word counts (adjtimex(2), which anybody may ask). Where it gives none, the file that systemd's time service leaves once
/// it has set the clock since power-up does. A time service that does not tell the kernel (some keep that off) shows as unsynchronised: what is
/// stated is what the system says, and a clock that is stated to be unsynchronised may be right all the same.</remarks>
public static partial class HostSynchronisation
{
    /// <summary>A time service keeps the clock right.</summary>
    public const string Synchronised = "synchronised";

    /// <summary>None does.</summary>
    public const string Unsynchronised = "unsynchronised";

    /// <summary>The system does not tell: anything but Linux on 64 bits, or a container that may not ask.</summary>
    public const string Unknown = "unknown";

    private const string ServiceFile = "/run/systemd/timesync/synchronized";

    // struct timex of the 64-bit kernels, x64 and arm64 alike: 208 bytes, modes (0: only read) at 0, status at 40.
    private const int TimexBytes = 208;
    private const int StatusOffset = 40;
    private const int StatusUnsynchronised = 0x40;

    /// <summary>One of <see cref="Synchronised"/>, <see cref="Unsynchronised"/>, <see cref="Unknown"/>. A system call and at most one look for a
    /// file: returns at once and never throws.</summary>
    public static string Read()
    {
        if (!OperatingSystem.IsLinux() || !Environment.Is64BitProcess)
            return Unknown;
        return Judge(KernelStatus(), File.Exists(ServiceFile));
    }

    /// <summary>The answer from what the kernel and the time service say.</summary>
    /// <param name="kernelStatus">The status bits of adjtimex(2); null where it did not answer.</param>
    /// <param name="serviceHasSet">True where the time service says that it has set the clock.</param>
    internal static string Judge(int? kernelStatus, bool serviceHasSet) => kernelStatus switch
    {
        int status => (status & StatusUnsynchronised) == 0 ? Synchronised : Unsynchronised,
        null => serviceHasSet ? Synchronised : Unknown,
    };

    private static int? KernelStatus()
    {
        Span<byte> timex = stackalloc byte[TimexBytes];
        timex.Clear();
        try
        {
            return AdjustTime(timex) < 0 ? null : BinaryPrimitives.ReadInt32LittleEndian(timex[StatusOffset..]);
        }
        catch (Exception missing) when (missing is DllNotFoundException or EntryPointNotFoundException)
        {
            return null;
        }
    }

    [LibraryImport("libc", EntryPoint = "adjtimex")]
    private static partial int AdjustTime(Span<byte> timex);
}
