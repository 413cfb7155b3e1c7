using System.Buffers.Binary;

namespace Acquire.Acquisition.Gpio;

/// <summary>One thing that a GPIO line said, in the 16 bytes in which it goes into blocks and journals (gpio-records.md).</summary>
/// <param name="TimeNs">The host's monotonic clock, ns: of an edge the kernel's own stamp, of a level when it was read.</param>
/// <param name="Kind">What it is: one of the constants.</param>
/// <param name="Sequence">Of an edge its number since the line was opened, from 1 and going round at 2³²; else 0.</param>
internal readonly record struct GpioRecord(long TimeNs, uint Kind, uint Sequence)
{
    /// <summary>Bytes of a record.</summary>
    internal const int Bytes = 16;

    /// <summary>The line rose.</summary>
    internal const uint Rising = LinuxGpio.RisingEvent;

    /// <summary>The line fell.</summary>
    internal const uint Falling = LinuxGpio.FallingEvent;

    /// <summary>The line was looked at and is low.</summary>
    internal const uint Low = 0x10;

    /// <summary>The line was looked at and is high.</summary>
    internal const uint High = 0x11;

    /// <summary>What the kernel gave was not a whole event.</summary>
    internal const uint Torn = 0xFFFF_FFFF;

    internal static GpioRecord Read(ReadOnlySpan<byte> from) => new(
        BinaryPrimitives.ReadInt64LittleEndian(from), BinaryPrimitives.ReadUInt32LittleEndian(from[8..]), BinaryPrimitives.ReadUInt32LittleEndian(from[12..]));

    internal void Write(Span<byte> into)
    {
        BinaryPrimitives.WriteInt64LittleEndian(into, TimeNs);
        BinaryPrimitives.WriteUInt32LittleEndian(into[8..], Kind);
        BinaryPrimitives.WriteUInt32LittleEndian(into[12..], Sequence);
    }

    /// <summary>Takes the kernel's events of one line, 48 bytes each, and puts a record of each in their place from the front on.</summary>
    /// <param name="bytes">The events as they were read.</param>
    /// <param name="length">Bytes that were read.</param>
    /// <returns>Bytes of records.</returns>
    internal static int Pack(Span<byte> bytes, int length)
    {
        int packed = 0;
        int at = 0;
        for (; at + LinuxGpio.EventBytes <= length; at += LinuxGpio.EventBytes, packed += Bytes)
        {
            Span<byte> one = bytes[at..];
            long timeNs = BinaryPrimitives.ReadInt64LittleEndian(one);
            uint kind = BinaryPrimitives.ReadUInt32LittleEndian(one[8..]);
            uint sequence = BinaryPrimitives.ReadUInt32LittleEndian(one[20..]);
            new GpioRecord(timeNs, kind, sequence).Write(bytes[packed..]);
        }

        if (at == length)
            return packed;
        new GpioRecord(0, Torn, (uint)(length - at)).Write(bytes[packed..]);
        return packed + Bytes;
    }
}
