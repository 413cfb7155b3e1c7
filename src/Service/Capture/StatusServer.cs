using System.Net.Sockets;
using System.Text.Json;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Capture;

/// <summary>Answers at the status socket, one after the other, from a thread of its own. Those who ask cannot disturb the capture: nothing is read
/// from them, none is waited for longer than a second, and between two answers there is a pause however many ask.</summary>
internal sealed class StatusServer : IDisposable
{
    private const int Waiting = 8;
    private const int PauseMs = 5;
    private const int SendMs = 1000;
    private static readonly TimeSpan Step = TimeSpan.FromMilliseconds(200);
    private readonly Socket _listener;
    private readonly string _path;
    private readonly Func<CaptureStatus> _report;
    private readonly ILogger _logger;
    private readonly ManualResetEvent _stop = new(false);
    private readonly Thread _thread;
    private bool _faulted;

    private StatusServer(Socket listener, string path, Func<CaptureStatus> report, ILogger logger)
    {
        _listener = listener;
        _path = path;
        _report = report;
        _logger = logger;
        _thread = new Thread(Serve) { IsBackground = true, Name = "status" };
        _thread.Start();
    }

    /// <summary>Begins to answer. The caller holds the library's lock, so that a socket found there is one that nobody listens at.</summary>
    /// <returns>The server; null where there can be no socket, which is logged and no reason not to capture.</returns>
    public static StatusServer? TryStart(string library, Func<CaptureStatus> report, ILogger logger)
    {
        string path = StatusSocket.PathIn(library);
        string? problem = StatusSocket.WhyNot(path);
        if (problem is null)
        {
            try
            {
                return new StatusServer(Listen(path), path, report, logger);
            }
            catch (Exception e) when (e is SocketException or IOException or UnauthorizedAccessException)
            {
                problem = e.Message;
            }
        }

        logger.LogWarning("This capture cannot be asked for its status: {Problem}", problem);
        return null;
    }

    /// <summary>Ends it and takes the socket away.</summary>
    public void Dispose()
    {
        _stop.Set();
        _thread.Join();
        _listener.Dispose();
        _stop.Dispose();
        Remove(_path);
    }

    // Who may connect is settled between binding and listening: before that nobody can.
    private static Socket Listen(string path)
    {
        Remove(path);
        var listener = new Socket(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified);
        try
        {
            listener.Bind(new UnixDomainSocketEndPoint(path));
            if (!OperatingSystem.IsWindows())
                File.SetUnixFileMode(path, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.GroupRead | UnixFileMode.GroupWrite);
            listener.Listen(Waiting);
            return listener;
        }
        catch
        {
            listener.Dispose();
            throw;
        }
    }

    private static void Remove(string path)
    {
        try
        {
            File.Delete(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // What is in the way is said when it is bound.
        }
    }

    private void Serve()
    {
        while (!_stop.WaitOne(PauseMs))
        {
            try
            {
                if (!_listener.Poll(Step, SelectMode.SelectRead))
                    continue;
                using Socket asking = _listener.Accept();
                asking.SendTimeout = SendMs;
                asking.Send(JsonSerializer.SerializeToUtf8Bytes(_report(), StatusJson.Status));
                asking.Shutdown(SocketShutdown.Send);
            }
            catch (Exception e)
            {
                // One who goes away while being answered is nothing to speak of; anything else is said once, and the capture goes on.
                if (e is not SocketException && !_faulted)
                {
                    _logger.LogWarning(e, "The status could not be given");
                    _faulted = true;
                }
            }
        }
    }
}
