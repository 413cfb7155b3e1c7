using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace Acquire.Acquisition.Serial;

/// <summary>The calls and constants of the Linux terminal interface that a serial port needs; the numbers are those of x86-64 and arm64
/// (linux/termios.h, asm-generic/termbits.h, asm-generic/ioctls.h).</summary>
internal static partial class LinuxTerminal
{
    internal const nuint GetSettings = 0x802C542A; // TCGETS2
    internal const nuint PutSettings = 0x402C542B; // TCSETS2
    internal const nuint Flush = 0x540B; // TCFLSH
    internal const nuint Exclusive = 0x540C; // TIOCEXCL
    internal const nuint NotExclusive = 0x540D; // TIOCNXCL
    internal const nuint RaiseLines = 0x5416; // TIOCMBIS
    internal const nuint LowerLines = 0x5417; // TIOCMBIC
    internal const int FlushOutput = 1; // TCOFLUSH
    internal const int LineDtr = 2;
    internal const int LineRts = 4;

    private const uint SpeedAsNumber = 0x1000; // BOTHER
    private const int InputSpeedShift = 16; // IBSHIFT
    private const uint EightBits = 0x30;
    private const uint Receive = 0x80;
    private const uint NoModemControl = 0x800; // CLOCAL
    private const int LeastBytes = 6; // VMIN
    private const int WaitTime = 5; // VTIME

    /// <summary>Turns settings into raw bytes at a rate: nothing is changed, echoed or held back, and DTR stays up on
    /// closing (HUPCL is left out).</summary>
    internal static unsafe void MakeRaw(ref Settings settings, uint baud)
    {
        settings.InputFlags = 0;
        settings.OutputFlags = 0;
        settings.LocalFlags = 0;
        settings.ControlFlags = EightBits | Receive | NoModemControl | SpeedAsNumber | (SpeedAsNumber << InputSpeedShift);
        settings.InputSpeed = baud;
        settings.OutputSpeed = baud;
        settings.Characters[LeastBytes] = 1;
        settings.Characters[WaitTime] = 0;
    }

    /// <summary>struct termios2.</summary>
    [StructLayout(LayoutKind.Sequential)]
    internal unsafe struct Settings
    {
        public uint InputFlags;
        public uint OutputFlags;
        public uint ControlFlags;
        public uint LocalFlags;
        public byte Discipline;
        public fixed byte Characters[19];
        public uint InputSpeed;
        public uint OutputSpeed;
    }

    [LibraryImport("libc", EntryPoint = "ioctl", SetLastError = true)]
    internal static partial int Control(SafeFileHandle descriptor, nuint request, nint value);

    [LibraryImport("libc", EntryPoint = "ioctl", SetLastError = true)]
    internal static partial int Control(SafeFileHandle descriptor, nuint request, ref Settings settings);

    [LibraryImport("libc", EntryPoint = "ioctl", SetLastError = true)]
    internal static partial int Control(SafeFileHandle descriptor, nuint request, ref int value);
}
