using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace Acquire.Acquisition;

/// <summary>The system calls for descriptors and their numbers, as on x86-64 and arm64 (asm-generic/fcntl.h, asm-generic/poll.h,
/// asm-generic/errno-base.h).</summary>
internal static partial class LinuxCalls
{
    internal const int OpenReadWrite = 2;
    internal const int OpenNoControllingTerminal = 0x100;
    internal const int OpenNonBlocking = 0x800;
    internal const int OpenCloseOnExec = 0x80000;

    internal const short PollIn = 1;
    internal const short PollOut = 4;

    internal const int ErrorNotPermitted = 1;
    internal const int ErrorNoEntry = 2;
    internal const int ErrorInterrupted = 4;
    internal const int ErrorInputOutput = 5;
    internal const int ErrorNoDeviceOrAddress = 6;
    internal const int ErrorAgain = 11;
    internal const int ErrorAccess = 13;
    internal const int ErrorBusy = 16;
    internal const int ErrorNoDevice = 19;
    internal const int ErrorInvalid = 22;
    internal const int ErrorNotATerminal = 25;
    internal const int ErrorNotImplemented = 38;

    [StructLayout(LayoutKind.Sequential)]
    internal struct PollItem
    {
        public int Descriptor;
        public short Wanted;
        public short Returned;
    }

    [LibraryImport("libc", EntryPoint = "open", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    internal static partial SafeFileHandle Open(string path, int flags);

    [LibraryImport("libc", EntryPoint = "eventfd", SetLastError = true)]
    internal static partial SafeFileHandle EventDescriptor(uint start, int flags);

    [LibraryImport("libc", EntryPoint = "poll", SetLastError = true)]
    internal static unsafe partial int Poll(PollItem* items, nuint count, int milliseconds);

    [LibraryImport("libc", EntryPoint = "read", SetLastError = true)]
    internal static unsafe partial nint Read(SafeFileHandle descriptor, byte* into, nuint length);

    [LibraryImport("libc", EntryPoint = "write", SetLastError = true)]
    internal static unsafe partial nint Write(SafeFileHandle descriptor, byte* bytes, nuint length);

    [LibraryImport("libc", EntryPoint = "statx", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    internal static partial int Status(int folder, string path, int flags, uint mask, Span<byte> status);
}
