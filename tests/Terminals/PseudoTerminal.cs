using System.ComponentModel;
using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace Acquire.Terminals;

/// <summary>A Linux pseudo-terminal: the far end of a serial port, for tests and the player. The port's side is raw from the
/// start, so that no byte is changed or echoed.</summary>
public sealed partial class PseudoTerminal : IDisposable
{
    private const int ReadWrite = 2;
    private const int NoControllingTerminal = 0x100;
    private const int CloseOnExec = 0x80000; // a program started from here must not keep the terminal from hanging up
    private readonly SafeFileHandle _board;
    private readonly SafeFileHandle? _held;
    private string? _link;

    /// <summary>Opens a new pair.</summary>
    /// <param name="holdPort">Keep the port's side open here too, so that the board's side sees no hang-up between two users of the
    /// port; without it a reader of the board's side sees an error while nobody has the port open.</param>
    /// <param name="link">A path at which to put a symbolic link to the port, replaced if there; removed on dispose.</param>
    public PseudoTerminal(bool holdPort = true, string? link = null)
    {
        int board = posix_openpt(ReadWrite | NoControllingTerminal | CloseOnExec);
        Check(board);
        _board = new SafeFileHandle(board, ownsHandle: true);
        Check(grantpt(board));
        Check(unlockpt(board));
        byte[] name = new byte[128];
        Check(ptsname_r(board, name, (nuint)name.Length));
        PortPath = System.Text.Encoding.UTF8.GetString(name, 0, Array.IndexOf(name, (byte)0));

        int port = open(PortPath, ReadWrite | NoControllingTerminal | CloseOnExec);
        Check(port);
        var held = new SafeFileHandle(port, ownsHandle: true);
        byte[] settings = new byte[256];
        Check(tcgetattr(port, settings));
        cfmakeraw(settings);
        Check(tcsetattr(port, 0, settings));
        if (holdPort)
            _held = held;
        else
            held.Dispose();
        if (link is not null)
            MakeLink(link);
    }

    /// <summary>The path that the program under test opens.</summary>
    public string PortPath { get; }

    /// <summary>The board's side: what is written here the port reads.</summary>
    public SafeFileHandle Board => _board;

    /// <summary>Writes all of <paramref name="bytes"/> as the board; waits where the terminal's buffer is full.</summary>
    public unsafe void Write(ReadOnlySpan<byte> bytes)
    {
        while (!bytes.IsEmpty)
        {
            nint written;
            fixed (byte* at = bytes)
                written = write((int)_board.DangerousGetHandle(), at, (nuint)bytes.Length);
            if (written < 0)
                throw new Win32Exception(Marshal.GetLastPInvokeError(), "The pseudo-terminal could not be written.");
            bytes = bytes[(int)written..];
        }
    }

    /// <summary>Writes text as the board, ASCII.</summary>
    public void Write(string text) => Write(System.Text.Encoding.ASCII.GetBytes(text));

    /// <summary>Reads what the program under test sent to the board, waiting at most <paramref name="milliseconds"/>.</summary>
    /// <returns>Bytes read; 0 where none came, −1 where nobody has the port open.</returns>
    public unsafe int Read(Span<byte> into, int milliseconds)
    {
        var wanted = new PollFd { Fd = (int)_board.DangerousGetHandle(), Events = 1 };
        if (poll(&wanted, 1, milliseconds) <= 0)
            return 0;
        if ((wanted.Returned & 1) == 0)
            return -1;
        fixed (byte* at = into)
        {
            nint got = read((int)_board.DangerousGetHandle(), at, (nuint)into.Length);
            return got <= 0 ? -1 : (int)got;
        }
    }

    /// <summary>Pulls the plug: closes both sides; whoever has the port open sees a hang-up.</summary>
    public void Dispose()
    {
        if (_link is not null && File.ResolveLinkTarget(_link, false)?.FullName == PortPath)
            File.Delete(_link);
        _held?.Dispose();
        _board.Dispose();
    }

    private void MakeLink(string link)
    {
        string beside = link + ".new";
        File.Delete(beside);
        File.CreateSymbolicLink(beside, PortPath);
        File.Move(beside, link, overwrite: true);
        _link = link;
    }

    private static void Check(int result)
    {
        if (result < 0)
            throw new Win32Exception(Marshal.GetLastPInvokeError(), "A pseudo-terminal could not be made.");
    }

    [StructLayout(LayoutKind.Sequential)]
    private struct PollFd
    {
        public int Fd;
        public short Events;
        public short Returned;
    }

    [LibraryImport("libc", SetLastError = true)]
    private static partial int posix_openpt(int flags);

    [LibraryImport("libc", SetLastError = true)]
    private static partial int grantpt(int fd);

    [LibraryImport("libc", SetLastError = true)]
    private static partial int unlockpt(int fd);

    [LibraryImport("libc", SetLastError = true)]
    private static partial int ptsname_r(int fd, [Out] byte[] name, nuint length);

    [LibraryImport("libc", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    private static partial int open(string path, int flags);

    [LibraryImport("libc", SetLastError = true)]
    private static partial int tcgetattr(int fd, [Out] byte[] settings);

    [LibraryImport("libc", SetLastError = true)]
    private static partial void cfmakeraw([In, Out] byte[] settings);

    [LibraryImport("libc", SetLastError = true)]
    private static partial int tcsetattr(int fd, int when, [In] byte[] settings);

    [LibraryImport("libc", SetLastError = true)]
    private static unsafe partial nint write(int fd, byte* bytes, nuint length);

    [LibraryImport("libc", SetLastError = true)]
    private static unsafe partial nint read(int fd, byte* bytes, nuint length);

    [LibraryImport("libc", SetLastError = true)]
    private static unsafe partial int poll(PollFd* fds, nuint count, int milliseconds);
}
