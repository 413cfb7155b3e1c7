using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Microsoft.Win32.SafeHandles;
using static Acquire.Acquisition.LinuxCalls;

namespace Acquire.Acquisition;

/// <summary>Waits on a descriptor with poll(2), and on a second one by which the waiting thread is woken: what comes is seen as soon as the
/// kernel has it, a hang-up shows at once, and waiting costs nothing. One thread reads; any thread may wake or dispose.</summary>
[SupportedOSPlatform("linux")]
internal sealed class WakingReader : IDisposable
{
    private readonly SafeFileHandle _waker;
    private int _closed;

    private WakingReader(SafeFileHandle descriptor, SafeFileHandle waker)
    {
        Descriptor = descriptor;
        _waker = waker;
    }

    /// <summary>What is read.</summary>
    internal SafeFileHandle Descriptor { get; }

    /// <summary>Makes a reader, which owns the descriptor from then on.</summary>
    /// <returns>Null where the system has no descriptor left to wake by; its error number is the last one, and the descriptor stays the caller's.</returns>
    internal static WakingReader? Of(SafeFileHandle descriptor)
    {
        SafeFileHandle waker = EventDescriptor(0, OpenNonBlocking | OpenCloseOnExec);
        if (!waker.IsInvalid)
            return new WakingReader(descriptor, waker);
        waker.Dispose();
        return null;
    }

    /// <summary>Waits for bytes and takes those that are there.</summary>
    internal LinkRead Read(Span<byte> into, int timeoutMs, out int count)
    {
        ArgumentOutOfRangeException.ThrowIfZero(into.Length, nameof(into));
        count = 0;
        bool held = false;
        bool wakerHeld = false;
        try
        {
            // Held, so that a close on another thread cannot give the number to another file while this one waits on it.
            Descriptor.DangerousAddRef(ref held);
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
            if (held)
                Descriptor.DangerousRelease();
        }
    }

    /// <summary>Makes the read that is under way, or else the next one, return without waiting.</summary>
    internal unsafe void Wake()
    {
        ulong one = 1;
        try
        {
            _ = Write(_waker, (byte*)&one, sizeof(ulong));
        }
        catch (ObjectDisposedException)
        {
            // Closed: nobody can be waiting.
        }
    }

    /// <summary>Has every read from now on, and the one under way, say that the link is gone.</summary>
    /// <returns>False where that was done before.</returns>
    internal bool Close()
    {
        if (Interlocked.Exchange(ref _closed, 1) != 0)
            return false;
        Wake();
        return true;
    }

    public void Dispose()
    {
        Close();
        Descriptor.Dispose();
        _waker.Dispose();
    }

    private unsafe LinkRead WaitAndRead(Span<byte> into, int timeoutMs, out int count)
    {
        count = 0;
        PollItem* items = stackalloc PollItem[2];
        items[0] = new PollItem { Descriptor = (int)Descriptor.DangerousGetHandle(), Wanted = PollIn };
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
        _ = LinuxCalls.Read(_waker, (byte*)&woken, sizeof(ulong));
        return LinkRead.Nothing;
    }

    private unsafe LinkRead Take(Span<byte> into, out int count)
    {
        nint got;
        fixed (byte* at = into)
            got = LinuxCalls.Read(Descriptor, at, (nuint)into.Length);
        count = (int)Math.Max(got, 0);
        if (got > 0)
            return LinkRead.Data;
        bool nothingYet = got < 0 && Marshal.GetLastPInvokeError() is ErrorAgain or ErrorInterrupted;
        return nothingYet ? LinkRead.Nothing : LinkRead.Gone;
    }
}
