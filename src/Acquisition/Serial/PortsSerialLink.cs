using System.IO.Ports;

namespace Acquire.Acquisition.Serial;

/// <summary>A serial port through System.IO.Ports. After an unplug a further read there never completes, and after a further write
/// disposing never returns (measured with version 10 on Linux). So one read is kept pending and none is begun after it failed, the port
/// is asked whether it is still there whenever nothing came, and closing happens on a thread that can be left behind.</summary>
internal sealed class PortsSerialLink : ISerialLink
{
    /// <summary>So many ports left behind, and no further one is opened.</summary>
    internal const int MostAbandoned = 32;

    private const int WriteWaitMs = 200;
    private const int CloseWaitMs = 500;
    private const int BufferBytes = 4096;
    private const int MostEmptyReads = 16;
    private static int _abandoned;

    private readonly SerialPort _port;
    private readonly Stream _stream;
    private readonly IDisposable _lock;
    private readonly byte[] _buffer = new byte[BufferBytes];
    private readonly AutoResetEvent _signal = new(false);
    private readonly CancellationTokenSource _closing = new();
    private readonly object _writeGate = new();
    private Task<int>? _pending;
    private int _from;
    private int _kept;
    private int _emptyReads;
    private volatile bool _gone;
    private int _closed;

    private PortsSerialLink(SerialPort port, IDisposable portLock)
    {
        _port = port;
        _stream = port.BaseStream;
        _lock = portLock;
        BeginRead();
    }

    /// <summary>Ports of this process whose closing has not returned.</summary>
    internal static int Abandoned => Volatile.Read(ref _abandoned);

    public string Name => $"{_port.PortName} (System.IO.Ports)";

    /// <summary>Opens the port; the lock belongs to the link from then on, and stays the caller's where the result is null.</summary>
    internal static PortsSerialLink? Open(SerialSettings settings, IDisposable portLock, out LinkProblem? problem)
    {
        problem = Abandoned >= MostAbandoned ? SerialProblem.TooManyAbandoned(Abandoned) : null;
        if (problem is not null)
            return null;
        SerialPort? port = null;
        try
        {
            port = new SerialPort(settings.Port, settings.Baud, Parity.None, 8, StopBits.One)
            {
                Handshake = Handshake.None,
                WriteTimeout = WriteWaitMs,
            };
            port.Open();
            SetLines(port, settings);
            return new PortsSerialLink(port, portLock);
        }
        catch (Exception refused) when (refused is IOException or UnauthorizedAccessException or ArgumentException
            or InvalidOperationException or PlatformNotSupportedException)
        {
            problem = ProblemOf(settings.Port, refused);
            if (port is not null)
                Close(port);
            return null;
        }
    }

    public LinkRead Read(Span<byte> into, int timeoutMs, out int count)
    {
        ArgumentOutOfRangeException.ThrowIfZero(into.Length, nameof(into));
        count = 0;
        if (_gone || Volatile.Read(ref _closed) != 0)
            return LinkRead.Gone;
        if (_kept == 0 && _pending is { IsCompleted: false })
            _signal.WaitOne(timeoutMs);
        if (_kept == 0 && !Receive())
            return LinkRead.Gone;
        if (_kept == 0)
            return StillThere() ? LinkRead.Nothing : LinkRead.Gone;

        count = Math.Min(_kept, into.Length);
        _buffer.AsSpan(_from, count).CopyTo(into);
        _from += count;
        _kept -= count;
        if (_kept == 0)
            BeginRead();
        return LinkRead.Data;
    }

    public bool Write(ReadOnlySpan<byte> bytes)
    {
        byte[] copy = bytes.ToArray();
        lock (_writeGate)
        {
            if (_gone || Volatile.Read(ref _closed) != 0)
                return false;
            try
            {
                _port.Write(copy, 0, copy.Length);
                return true;
            }
            catch (Exception problem) when (IsLoss(problem) || problem is TimeoutException)
            {
                return false;
            }
        }
    }

    public void Wake() => _signal.Set();

    public void Dispose()
    {
        if (Interlocked.Exchange(ref _closed, 1) != 0)
            return;
        bool waits = !_gone;
        _closing.Cancel();
        Wake();
        ManualResetEventSlim done = Close(_port);
        if (waits)
            done.Wait(CloseWaitMs);
        _lock.Dispose();
    }

    private static void SetLines(SerialPort port, SerialSettings settings)
    {
        try
        {
            port.DtrEnable = settings.Dtr;
            port.RtsEnable = settings.Rts;
        }
        catch (IOException)
        {
            // A terminal without such lines has nothing to set.
        }
    }

    /// <summary>Closes a port beside the caller's thread; the port counts as abandoned until that has come back.</summary>
    /// <returns>Set when it has.</returns>
    internal static ManualResetEventSlim Close(SerialPort port)
    {
        var done = new ManualResetEventSlim();
        Interlocked.Increment(ref _abandoned);
        var closer = new Thread(() =>
        {
            try
            {
                port.Dispose();
            }
            catch (Exception problem) when (IsLoss(problem))
            {
                // It is gone, which is what was wanted.
            }

            Interlocked.Decrement(ref _abandoned);
            done.Set();
        })
        { IsBackground = true, Name = "serial port closing" };
        closer.Start();
        return done;
    }

    private static LinkProblem ProblemOf(string port, Exception refused)
    {
        int error = (refused.InnerException ?? refused).HResult;
        if (!OperatingSystem.IsWindows() && error is > 0 and < 200)
            return SerialProblem.FromError(port, error);
        return refused switch
        {
            UnauthorizedAccessException => SerialProblem.Busy(port, null),
            FileNotFoundException => SerialProblem.NotThere(port, SerialLinks.PortNames()),
            ArgumentException => SerialProblem.NotASerialPort(port),
            _ => SerialProblem.Failed(port, refused.Message),
        };
    }

    private static bool IsLoss(Exception problem) =>
        problem is IOException or ObjectDisposedException or InvalidOperationException or UnauthorizedAccessException
            or OperationCanceledException;

    private void BeginRead()
    {
        _from = 0;
        try
        {
            _pending = _stream.ReadAsync(_buffer, 0, _buffer.Length, _closing.Token);
            _pending.ContinueWith(
                static (_, signal) => ((AutoResetEvent)signal!).Set(), _signal, CancellationToken.None,
                TaskContinuationOptions.ExecuteSynchronously, TaskScheduler.Default);
        }
        catch (Exception problem) when (IsLoss(problem))
        {
            _gone = true;
        }
    }

    /// <summary>Takes over what the pending read brought. False where it brought the end.</summary>
    private bool Receive()
    {
        if (_pending is not { IsCompleted: true } read)
            return true;
        if (!read.IsCompletedSuccessfully)
        {
            _ = read.Exception; // seen
            _gone = true;
            return false;
        }

        _kept = read.Result;
        _emptyReads = _kept == 0 ? _emptyReads + 1 : 0;
        _gone = _emptyReads >= MostEmptyReads;
        if (_kept == 0 && !_gone)
            BeginRead();
        return !_gone;
    }

    private bool StillThere()
    {
        try
        {
            _ = _port.BytesToRead;
            return true;
        }
        catch (Exception problem) when (IsLoss(problem))
        {
            _gone = true;
            return false;
        }
    }
}
