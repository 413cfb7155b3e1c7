using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Microsoft.Win32.SafeHandles;
using static Acquire.Acquisition.LinuxCalls;
using static Acquire.Acquisition.Serial.LinuxTerminal;

namespace Acquire.Acquisition.Serial;

/// <summary>A serial port over its own descriptor, waited on by a <see cref="WakingReader"/>.</summary>
[SupportedOSPlatform("linux")]
internal sealed class LinuxSerialLink : ISerialLink
{
    private const int WriteWaitMs = 200;
    private readonly SafeFileHandle _port;
    private readonly WakingReader _reader;
    private readonly IDisposable _lock;
    private readonly object _writeGate = new();

    private LinuxSerialLink(WakingReader reader, IDisposable portLock, string name)
    {
        _port = reader.Descriptor;
        _reader = reader;
        _lock = portLock;
        Name = name;
    }

    public string Name { get; }

    /// <summary>Opens the port; the lock belongs to the link from then on, and stays the caller's where the result is null.</summary>
    internal static LinuxSerialLink? Open(SerialSettings settings, IDisposable portLock, out LinkProblem? problem)
    {
        SafeFileHandle port = LinuxCalls.Open(
            settings.Port, OpenReadWrite | OpenNoControllingTerminal | OpenNonBlocking | OpenCloseOnExec);
        problem = port.IsInvalid ? SerialProblem.FromError(settings.Port, Marshal.GetLastPInvokeError()) : Prepare(port, settings);
        if (problem is not null)
        {
            port.Dispose();
            return null;
        }

        if (WakingReader.Of(port) is { } reader)
            return new LinuxSerialLink(reader, portLock, settings.Port);
        problem = SerialProblem.FromError(settings.Port, Marshal.GetLastPInvokeError());
        port.Dispose();
        return null;
    }

    public LinkRead Read(Span<byte> into, int timeoutMs, out int count) => _reader.Read(into, timeoutMs, out count);

    public unsafe bool Write(ReadOnlySpan<byte> bytes)
    {
        lock (_writeGate)
        {
            try
            {
                while (!bytes.IsEmpty)
                {
                    nint written;
                    fixed (byte* at = bytes)
                        written = LinuxCalls.Write(_port, at, (nuint)bytes.Length);
                    if (written > 0)
                        bytes = bytes[(int)written..];
                    else if (!MayWriteAgain(Marshal.GetLastPInvokeError()))
                        return false;
                }

                return true;
            }
            catch (ObjectDisposedException)
            {
                return false;
            }
        }
    }

    public void Wake() => _reader.Wake();

    public void Dispose()
    {
        if (!_reader.Close())
            return;

        // What the port still had to send must not make the close wait; and the next user must not find it barred.
        _ = Control(_port, Flush, FlushOutput);
        _ = Control(_port, NotExclusive, 0);
        _reader.Dispose();
        _lock.Dispose();
    }

    private static LinkProblem? Prepare(SafeFileHandle port, SerialSettings settings)
    {
        Settings terminal = default;
        if (Control(port, Exclusive, 0) < 0 || Control(port, GetSettings, ref terminal) < 0)
            return SerialProblem.FromError(settings.Port, Marshal.GetLastPInvokeError());
        MakeRaw(ref terminal, (uint)settings.Baud);
        if (Control(port, PutSettings, ref terminal) < 0 || Control(port, GetSettings, ref terminal) < 0)
            return SerialProblem.FromError(settings.Port, Marshal.GetLastPInvokeError());
        if (Math.Abs((double)terminal.OutputSpeed - settings.Baud) > settings.Baud * SerialProblem.LargestBaudError)
            return SerialProblem.WrongBaud(settings.Port, settings.Baud, terminal.OutputSpeed);

        // Opening raised both; a terminal without such lines refuses, and has nothing to set.
        int lower = (settings.Dtr ? 0 : LineDtr) | (settings.Rts ? 0 : LineRts);
        int raise = (settings.Dtr ? LineDtr : 0) | (settings.Rts ? LineRts : 0);
        _ = Control(port, LowerLines, ref lower);
        _ = Control(port, RaiseLines, ref raise);
        return null;
    }

    private unsafe bool MayWriteAgain(int error)
    {
        if (error == ErrorInterrupted)
            return true;
        if (error != ErrorAgain)
            return false;
        bool held = false;
        try
        {
            _port.DangerousAddRef(ref held);
            var item = new PollItem { Descriptor = (int)_port.DangerousGetHandle(), Wanted = PollOut };
            return Poll(&item, 1, WriteWaitMs) > 0 && item.Returned == PollOut;
        }
        finally
        {
            if (held)
                _port.DangerousRelease();
        }
    }
}
