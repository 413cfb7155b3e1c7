using System.Net.Sockets;
using System.Text;
using Acquire.Acquisition;

namespace Acquire.EndToEnd.Tests;

/// <summary>The socket of a service's manager, as sd_notify(3) has it: datagrams of text lines, each kept with the time at which it came.</summary>
internal sealed class ServiceManagerSocket : IDisposable
{
    private readonly Socket _socket = new(AddressFamily.Unix, SocketType.Dgram, ProtocolType.Unspecified);
    private readonly List<(long Ns, string Text)> _heard = [];
    private readonly Thread _reader;

    public ServiceManagerSocket(string path)
    {
        Path = path;
        _socket.Bind(new UnixDomainSocketEndPoint(path));
        _socket.ReceiveTimeout = 100;
        _reader = new Thread(Read) { IsBackground = true };
        _reader.Start();
    }

    public string Path { get; }

    /// <summary>When each notice of this text came, ns of the monotonic clock.</summary>
    public long[] TimesOf(string text)
    {
        lock (_heard)
            return [.. _heard.Where(h => h.Text == text).Select(h => h.Ns)];
    }

    public string[] All()
    {
        lock (_heard)
            return [.. _heard.Select(h => h.Text)];
    }

    public async Task Hears(string text, int seconds)
    {
        for (int i = 0; i < seconds * 20 && TimesOf(text).Length == 0; i++)
            await Task.Delay(TimeSpan.FromMilliseconds(50), TimeProvider.System);
        if (TimesOf(text).Length == 0)
            throw new TimeoutException($"{text} did not come within {seconds} s, but {string.Join(", ", All())}");
    }

    public void Dispose()
    {
        _socket.Dispose();
        _reader.Join();
    }

    private void Read()
    {
        byte[] buffer = new byte[4096];
        while (true)
        {
            try
            {
                int count = _socket.Receive(buffer);
                lock (_heard)
                    _heard.AddRange(Encoding.UTF8.GetString(buffer, 0, count).Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(line => (TimeProvider.System.MonotonicNs(), line)));
            }
            catch (SocketException e) when (e.SocketErrorCode is SocketError.TimedOut or SocketError.WouldBlock)
            {
                // Nothing came.
            }
            catch (Exception e) when (e is SocketException or ObjectDisposedException)
            {
                return;
            }
        }
    }
}
