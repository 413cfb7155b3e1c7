using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Microsoft.Win32.SafeHandles;
using static Acquire.Acquisition.Serial.LinuxTerminal;

namespace Acquire.Acquisition.Serial;

/// <summary>A serial port over its own descriptor, waited on with poll(2), with a second descriptor to wake the waiting thread: a read
/// is seen and stamped as soon as the kernel has it, a hang-up shows at once, and an idle port costs nothing.</summary>
[SupportedOSPlatform("linux")]
internal sealed class LinuxSerialLink : ISerialLink
{
    private const int WriteWaitMs = 200;
    private readonly SafeFileHandle _port;
    private readonly SafeFileHandle _waker;
    private readonly IDisposable _lock;
    private readonly object _writeGate = new();
    private int _closed;

    private LinuxSerialLink(SafeFileHandle port, SafeFileHandle waker, IDisposable portLock, string name)
    {
        _port = port;
        _waker = waker;
        _lock = portLock;
        Name = name;
    }

    public string Name { get; }

    /// <summary>Opens the port; the lock belongs to the link from then on, and stays the caller's where the result is null.</summary>
    internal static LinuxSerialLink? Open(SerialSettings settings, IDisposable portLock, out SerialProblem? problem)
    {
        SafeFileHandle port = LinuxTerminal.Open(
            settings.Port, OpenReadWrite | OpenNoControllingTerminal | OpenNonBlocking | OpenCloseOnExec);
        problem = port.IsInvalid ? SerialProblem.FromError(settings.Port, Marshal.GetLastPInvokeError()) : Prepare(port, settings);
        if (problem is not null)
        {
            port.Dispose();
            return null;
        }

        SafeFileHandle waker = EventDescriptor(0, OpenNonBlocking | OpenCloseOnExec);
        if (!waker.IsInvalid)
            return new LinuxSerialLink(port, waker, portLock, settings.Port);
        problem = SerialProblem.FromError(settings.Port, Marshal.GetLastPInvokeError());
        waker.Dispose();
        port.Dispose();
        return null;
    }

    public LinkRead Read(Span<byte> into, int timeoutMs, out int count)
    {
        ArgumentOutOfRangeException.ThrowIfZero(into.Length, nameof(into));
        count = 0;
        bool portHeld = false;
        bool wakerHeld = false;
        try
        {
            // Held, so that a close on another thread cannot give the number to another file while this one waits on it.
            _port.DangerousAddRef(ref portHeld);
            _waker.DangerousAddRef(ref wakerHeld);
            return WaitAndRead(into, timeoutMs, out count);
        }
        catch (ObjectDisposedException)
        {
            return LinkRead.Gone;
        }
        finally
        {
            if (wakerHeld)
                _waker.DangerousRelease();
            if (portHeld)
                _port.DangerousRelease();
        }
    }

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
                        written = LinuxTerminal.Write(_port, at, (nuint)bytes.Length);
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

    public unsafe void Wake()
    {
        ulong one = 1;
        try
        {
            _ = LinuxTerminal.Write(_waker, (byte*)&one, sizeof(ulong));
        }
        catch (ObjectDisposedException)
        {
            // Closed: nobody can be waiting.
        }
    }

    public void Dispose()
    {
        if (Interlocked.Exchange(ref _closed, 1) != 0)
            return;
        Wake();
        // What the port still had to send must not make the close wait; and the next user must not find it barred.
        _ = Control(_port, Flush, FlushOutput);
        _ = Control(_port, NotExclusive, 0);
        _port.Dispose();
        _waker.Dispose();
        _lock.Dispose();
    }

    private static SerialProblem? Prepare(SafeFileHandle port, SerialSettings settings)
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

    private unsafe LinkRead WaitAndRead(Span<byte> into, int timeoutMs, out int count)
    {
        count = 0;
        PollItem* items = stackalloc PollItem[2];
        items[0] = new PollItem { Descriptor = (int)_port.DangerousGetHandle(), Wanted = PollIn };
        items[1] = new PollItem { Descriptor = (int)_waker.DangerousGetHandle(), Wanted = PollIn };
        int ready = Poll(items, 2, timeoutMs);
        if (Volatile.Read(ref _closed) != 0)
            return LinkRead.Gone;
        if (ready <= 0)
            return ready == 0 || Marshal.GetLastPInvokeError() == ErrorInterrupted ? LinkRead.Nothing : LinkRead.Gone;
        if ((items[0].Returned & PollIn) != 0)
            return Take(into, out count);
        if (items[0].Returned != 0)
            return LinkRead.Gone; // an error or a hang-up without bytes left
        ulong woken;
        _ = LinuxTerminal.Read(_waker, (byte*)&woken, sizeof(ulong));
        return LinkRead.Nothing;
    }

    private unsafe LinkRead Take(Span<byte> into, out int count)
    {
        nint got;
        fixed (byte* at = into)
            got = LinuxTerminal.Read(_port, at, (nuint)into.Length);
        count = (int)Math.Max(got, 0);
        if (got > 0)
            return LinkRead.Data;
        bool nothingYet = got < 0 && Marshal.GetLastPInvokeError() is ErrorAgain or ErrorInterrupted;
        return nothingYet ? LinkRead.Nothing : LinkRead.Gone;
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
