using System.ComponentModel;
using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace Acquire.Player;

/// <summary>Tells how much a terminal holds that its reader has not read yet (FIONREAD).</summary>
internal sealed partial class PortQueue : IDisposable
{
    private const int ReadOnly = 0;
    private const int NoControllingTerminal = 0x100;
    private const int NonBlocking = 0x800;
    private const ulong BytesWaiting = 0x541B;
    private readonly SafeFileHandle _port;

    internal PortQueue(string path)
    {
        int port = open(path, ReadOnly | NoControllingTerminal | NonBlocking);
        if (port < 0)
            throw new Win32Exception(Marshal.GetLastPInvokeError(), "The port could not be looked at.");
        _port = new SafeFileHandle(port, ownsHandle: true);
    }

    public void Dispose() => _port.Dispose();

    internal unsafe int WaitingBytes()
    {
        int count;
        return ioctl((int)_port.DangerousGetHandle(), BytesWaiting, &count) < 0 ? 0 : count;
    }

    [LibraryImport("libc", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    private static partial int open(string path, int flags);

    [LibraryImport("libc", SetLastError = true)]
    private static unsafe partial int ioctl(int fd, ulong request, int* count);
}
