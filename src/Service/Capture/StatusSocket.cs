using System.Net.Sockets;
using System.Text;
using System.Text.Json;

namespace Acquire.Service.Capture;

/// <summary>The local socket in a library over which its capture says how it is: whoever connects is sent one JSON document, and the connection
/// closed. Nothing is read from the one who asks.</summary>
internal static class StatusSocket
{
    // struct sockaddr_un holds 108 bytes on Linux and Windows, 104 on others, one of them a zero.
    private static readonly int LongestPath = OperatingSystem.IsLinux() || OperatingSystem.IsWindows() ? 107 : 103;
    private const int LongestAnswer = 1 << 20;

    /// <summary>Where the socket of a library is.</summary>
    public static string PathIn(string library) => Path.Combine(library, CaptureJournals.OpenFolder, "status.sock");

    /// <summary>Why there can be no socket at this path; null where there can.</summary>
    public static string? WhyNot(string path)
    {
        int bytes = Encoding.UTF8.GetByteCount(path);
        return bytes <= LongestPath ? null : $"{path} has {bytes} bytes, and the path of a socket at most {LongestPath}";
    }

    /// <summary>Asks the capture of a library.</summary>
    /// <param name="path">The socket.</param>
    /// <param name="wait">How long to wait for the whole answer.</param>
    /// <param name="time">Real time.</param>
    /// <exception cref="SocketException">Nobody listens, or may not be asked.</exception>
    /// <exception cref="OperationCanceledException">No whole answer came in time.</exception>
    /// <exception cref="JsonException">The answer is not one of this program.</exception>
    public static CaptureStatus Ask(string path, TimeSpan wait, TimeProvider time)
    {
        using var late = new CancellationTokenSource(wait, time);
        return AskAsync(path, late.Token).GetAwaiter().GetResult();
    }

    private static async Task<CaptureStatus> AskAsync(string path, CancellationToken late)
    {
        using Socket socket = await ConnectAsync(path, late);
        byte[] answer = new byte[LongestAnswer];
        int length = 0;
        while (length < answer.Length)
        {
            int count = await socket.ReceiveAsync(answer.AsMemory(length), late);
            if (count == 0)
                break;
            length += count;
        }

        return JsonSerializer.Deserialize(answer.AsSpan(0, length), StatusJson.Status) ?? throw new JsonException("The answer is null.");
    }
    // So many may ask at once that there is no room to wait in line (EAGAIN of connect(2)): then it is tried again.
    private static async Task<Socket> ConnectAsync(string path, CancellationToken late)
    {
        while (true)
        {
            var socket = new Socket(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified);
            try
            {
                await socket.ConnectAsync(new UnixDomainSocketEndPoint(path), late);
                return socket;
            }
            catch (SocketException e) when (e.SocketErrorCode == SocketError.WouldBlock)
            {
                socket.Dispose();
                await Task.Delay(TimeSpan.FromMilliseconds(10), TimeProvider.System, late);
            }
            catch
            {
                socket.Dispose();
                throw;
            }
        }
    }
}
