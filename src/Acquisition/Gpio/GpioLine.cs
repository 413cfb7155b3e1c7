using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using System.Text;
using Microsoft.Win32.SafeHandles;

namespace Acquire.Acquisition.Gpio;

/// <summary>A GPIO line that is held. What it gives are <see cref="GpioRecord"/>s: the edges, and its level each time that it was quiet for as long as was
/// waited, which shows that it is still there.</summary>
[SupportedOSPlatform("linux")]
internal sealed class GpioLine : ISourceLink
{
    private const string Consumer = "acquire";
    private readonly WakingReader _reader;
    private readonly TimeProvider _time;

    /// <summary>Takes over a line's descriptor, from which events come as the kernel makes them.</summary>
    internal GpioLine(WakingReader reader, TimeProvider time, string name, string chipLabel)
    {
        _reader = reader;
        _time = time;
        Name = name;
        ChipLabel = chipLabel;
    }

    /// <inheritdoc/>
    public string Name { get; }

    /// <summary>The label of the chip that it is on.</summary>
    internal string ChipLabel { get; }

    /// <summary>Finds a line and takes hold of it.</summary>
    /// <param name="settings">Which, and how.</param>
    /// <param name="label">The label of the chip that it was on before; null where it was not.</param>
    /// <param name="time">The host's clocks.</param>
    /// <param name="problem">Why it cannot be had.</param>
    internal static GpioLine? TryOpen(GpioSettings settings, string? label, TimeProvider time, out LinkProblem? problem)
    {
        if (GpioFinder.Find(settings.Line, label, GpioChips.List(), out problem) is not var (chip, line))
            return null;
        using SafeFileHandle device = GpioChips.Open(chip.Path);
        if (device.IsInvalid)
        {
            problem = GpioProblem.ChipRefused(chip.Path, Marshal.GetLastPInvokeError());
            return null;
        }

        LinuxGpio.LineRequest request = Request(settings, line);
        if (LinuxGpio.Call(device, LinuxGpio.GetLine, ref request) < 0)
        {
            problem = GpioProblem.LineRefused(chip, line, Marshal.GetLastPInvokeError());
            return null;
        }

        var held = new SafeFileHandle(request.Descriptor, ownsHandle: true);
        if (WakingReader.Of(held) is { } reader)
            return new GpioLine(reader, time, GpioProblem.Called(chip, line), chip.Label);
        problem = GpioProblem.LineRefused(chip, line, Marshal.GetLastPInvokeError());
        held.Dispose();
        return null;
    }

    /// <inheritdoc/>
    public LinkRead Read(Span<byte> into, int timeoutMs, out int count)
    {
        LinkRead read = _reader.Read(into[..(into.Length / LinuxGpio.EventBytes * LinuxGpio.EventBytes)], timeoutMs, out count);
        if (read == LinkRead.Data)
            count = GpioRecord.Pack(into, count);
        return read == LinkRead.Nothing ? Look(into, out count) : read;
    }

    /// <inheritdoc/>
    public void Wake() => _reader.Wake();

    /// <inheritdoc/>
    public void Dispose() => _reader.Dispose();

    private static unsafe LinuxGpio.LineRequest Request(GpioSettings settings, GpioLineInfo line)
    {
        ulong edge = settings.Edge == GpioEdge.Rising ? LinuxGpio.EdgeRising : LinuxGpio.EdgeFalling;
        ulong edges = settings.Widths ? LinuxGpio.EdgeRising | LinuxGpio.EdgeFalling : edge;
        ulong bias = settings.Bias switch
        {
            GpioBias.PullUp => LinuxGpio.BiasPullUp,
            GpioBias.PullDown => LinuxGpio.BiasPullDown,
            _ => LinuxGpio.BiasDisabled,
        };

        // No debounce: it would have the kernel stamp the end of the quiet time, to a tick of its timer. The stamps are CLOCK_MONOTONIC where nothing else is asked for.
        var request = new LinuxGpio.LineRequest { LineCount = 1, EventBufferSize = LinuxGpio.MostEvents };
        request.Offsets[0] = (uint)line.Offset;
        request.Config.Flags = LinuxGpio.Input | edges | bias;
        Encoding.ASCII.GetBytes(Consumer).CopyTo(new Span<byte>(request.Consumer, LinuxGpio.NameBytes));
        return request;
    }

    private LinkRead Look(Span<byte> into, out int count)
    {
        count = 0;
        var values = new LinuxGpio.LineValues { Mask = 1 };
        try
        {
            if (LinuxGpio.Call(_reader.Descriptor, LinuxGpio.GetValues, ref values) < 0)
                return Marshal.GetLastPInvokeError() == LinuxCalls.ErrorNoDevice ? LinkRead.Gone : LinkRead.Nothing;
        }
        catch (ObjectDisposedException)
        {
            return LinkRead.Gone;
        }

        new GpioRecord(_time.MonotonicNs(), (values.Bits & 1) == 0 ? GpioRecord.Low : GpioRecord.High, 0).Write(into);
        count = GpioRecord.Bytes;
        return LinkRead.Data;
    }
}
