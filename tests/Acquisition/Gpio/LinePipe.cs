using System.Buffers.Binary;
using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Acquire.Acquisition.Gpio;
using Microsoft.Win32.SafeHandles;
using Xunit;

namespace Acquire.Acquisition.Tests.Gpio;

/// <summary>Stands in for the descriptor of a GPIO line: a pipe that carries events as the kernel writes them. Where it is closed the line hangs up, as
/// that of a chip which is removed does.</summary>
[SupportedOSPlatform("linux")]
internal sealed partial class LinePipe : IDisposable
{
    private readonly SafeFileHandle _kernelSide;
    private uint _number;

    internal LinePipe(string name = "Line 3 (mark) of GPIO chip gpiochip0 (bench)", string label = "bench")
    {
        Span<int> ends = stackalloc int[2];
        Assert.Equal(0, pipe(ends));
        _kernelSide = new SafeFileHandle(ends[1], ownsHandle: true);
        Line = new GpioLine(WakingReader.Of(new SafeFileHandle(ends[0], ownsHandle: true))!, TimeProvider.System, name, label);
    }

    internal GpioLine Line { get; }

    /// <summary>Events as the kernel lays them out: linux/gpio.h, struct gpio_v2_line_event.</summary>
    internal static byte[] Event(long timeNs, uint kind, uint number)
    {
        byte[] bytes = new byte[48];
        BinaryPrimitives.WriteInt64LittleEndian(bytes, timeNs);
        BinaryPrimitives.WriteUInt32LittleEndian(bytes.AsSpan(8), kind);
        BinaryPrimitives.WriteUInt32LittleEndian(bytes.AsSpan(12), 3);
        BinaryPrimitives.WriteUInt32LittleEndian(bytes.AsSpan(16), number + 7);
        BinaryPrimitives.WriteUInt32LittleEndian(bytes.AsSpan(20), number);
        return bytes;
    }

    /// <summary>The line falls; its number is the next.</summary>
    internal void Fall(long timeNs) => Write(Event(timeNs, 2, ++_number));

    internal void Write(params byte[][] events) => RandomAccessWrite([.. events.SelectMany(each => each)]);

    public void Dispose()
    {
        _kernelSide.Dispose();
        Line.Dispose();
    }

    /// <summary>The chip goes; the line is still held.</summary>
    internal void HangUp() => _kernelSide.Dispose();

    private unsafe void RandomAccessWrite(byte[] bytes)
    {
        fixed (byte* at = bytes)
            Assert.Equal(bytes.Length, LinuxCalls.Write(_kernelSide, at, (nuint)bytes.Length));
    }

    [LibraryImport("libc", SetLastError = true)]
    private static partial int pipe(Span<int> ends);
}
