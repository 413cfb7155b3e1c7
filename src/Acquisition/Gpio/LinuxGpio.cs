using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Text;
using Microsoft.Win32.SafeHandles;

namespace Acquire.Acquisition.Gpio;

/// <summary>The calls and structures of the Linux GPIO character device, version 2 of its interface (linux/gpio.h, Linux 5.10 and later), as far as a
/// pulse source needs them; the numbers are those of x86-64 and arm64.</summary>
internal static partial class LinuxGpio
{
    internal const int NameBytes = 32; // GPIO_MAX_NAME_SIZE
    internal const int EventBytes = 48;

    /// <summary>The most events that the kernel keeps for a line until they are read.</summary>
    internal const uint MostEvents = 1024;

    internal const uint GetChipInfo = 0x8044B401; // GPIO_GET_CHIPINFO_IOCTL
    internal const uint GetLineInfo = 0xC100B405; // GPIO_V2_GET_LINEINFO_IOCTL
    internal const uint GetLine = 0xC250B407; // GPIO_V2_GET_LINE_IOCTL
    internal const uint GetValues = 0xC010B40E; // GPIO_V2_LINE_GET_VALUES_IOCTL

    internal const ulong Used = 1;
    internal const ulong Input = 4;
    internal const ulong EdgeRising = 0x10;
    internal const ulong EdgeFalling = 0x20;
    internal const ulong BiasPullUp = 0x100;
    internal const ulong BiasPullDown = 0x200;
    internal const ulong BiasDisabled = 0x400;

    internal const uint RisingEvent = 1;
    internal const uint FallingEvent = 2;

    /// <summary>struct gpiochip_info.</summary>
    [StructLayout(LayoutKind.Sequential)]
    internal unsafe struct ChipInfo
    {
        public fixed byte Name[NameBytes];
        public fixed byte Label[NameBytes];
        public uint Lines;
    }

    /// <summary>struct gpio_v2_line_info.</summary>
    [StructLayout(LayoutKind.Sequential)]
    internal unsafe struct LineInfo
    {
        public fixed byte Name[NameBytes];
        public fixed byte Consumer[NameBytes];
        public uint Offset;
        public uint AttributeCount;
        public ulong Flags;
        public fixed byte Attributes[160];
        public fixed uint Padding[4];
    }

    /// <summary>struct gpio_v2_line_config.</summary>
    [StructLayout(LayoutKind.Sequential)]
    internal unsafe struct LineConfig
    {
        public ulong Flags;
        public uint AttributeCount;
        public fixed uint Padding[5];
        public fixed byte Attributes[240];
    }

    /// <summary>struct gpio_v2_line_request.</summary>
    [StructLayout(LayoutKind.Sequential)]
    internal unsafe struct LineRequest
    {
        public fixed uint Offsets[64];
        public fixed byte Consumer[NameBytes];
        public LineConfig Config;
        public uint LineCount;
        public uint EventBufferSize;
        public fixed uint Padding[5];
        public int Descriptor;
    }

    /// <summary>struct gpio_v2_line_values.</summary>
    [StructLayout(LayoutKind.Sequential)]
    internal struct LineValues
    {
        public ulong Bits;
        public ulong Mask;
    }

    /// <summary>struct gpio_v2_line_event.</summary>
    [StructLayout(LayoutKind.Sequential)]
    internal unsafe struct LineEvent
    {
        public ulong TimestampNs;
        public uint Id;
        public uint Offset;
        public uint SequenceNumber;
        public uint LineSequenceNumber;
        public fixed uint Padding[6];
    }

    /// <summary>Makes a call. A structure whose size is not the one that the call's number carries never reaches the kernel.</summary>
    /// <returns>Less than 0 where the kernel refuses; its error number is the last one.</returns>
    internal static unsafe int Call<T>(SafeFileHandle descriptor, uint call, ref T data)
        where T : unmanaged
    {
        int carried = (int)(call >> 16) & 0x3FFF;
        if (Unsafe.SizeOf<T>() != carried)
            throw new InvalidOperationException($"{typeof(T).Name} has {Unsafe.SizeOf<T>()} bytes, the call wants {carried}.");
        fixed (T* at = &data)
            return Control(descriptor, call, at);
    }

    /// <summary>The text in a field of fixed length, up to its first zero.</summary>
    internal static unsafe string Text(byte* field)
    {
        var bytes = new ReadOnlySpan<byte>(field, NameBytes);
        int end = bytes.IndexOf((byte)0);
        return Encoding.UTF8.GetString(end < 0 ? bytes : bytes[..end]);
    }

    [LibraryImport("libc", EntryPoint = "ioctl", SetLastError = true)]
    private static unsafe partial int Control(SafeFileHandle descriptor, nuint request, void* data);
}
