using System.Text;

namespace Acquire.Acquisition.Serial;

/// <summary>Delivers what a serial port says, from a thread of its own, stamped as soon as a read returns. A port that goes away is
/// looked for again after 0.2 s, then ever later up to 5 s, of real time whatever clock stamps the blocks; where the system names the device
/// itself it is found under any other name that it comes back by.</summary>
public sealed class SerialPulseSource : IPulseSource
{
    private const int ReadWaitMs = 1000;
    private const int ReadBytes = 32 << 10;
    private const int FirstRetryMs = 200;
    private const int LastRetryMs = 5000;
    private const int RoomWaitMs = 10;
    private const int StopWaitMs = 2000;

    private readonly SerialSettings _settings;
    private readonly bool _waitForPort;
    private readonly TimeProvider _time;
    private readonly PortFinder _finder;
    private readonly ManualResetEvent _stop = new(false);
    private volatile bool _stopping; // as _stop, for where nothing is waited for
    private readonly object _gate = new();
    private ISerialLink? _link;
    private Thread? _reader;
    private SerialProblem? _problem;
    private bool _disposed;

    /// <summary>Makes a source that begins with <see cref="Start"/>.</summary>
    /// <param name="settings">The port and how to open it.</param>
    /// <param name="waitForPort">Where the port cannot be opened at first, keep trying; else the source ends at once, with a
    /// <see cref="SourceBlockKind.LinkLost"/> block that says why.</param>
    /// <param name="time">The clock that stamps the blocks.</param>
    /// <param name="blocks">Where the blocks go; null for a ring of the usual size.</param>
    public SerialPulseSource(SerialSettings settings, bool waitForPort, TimeProvider time, BlockRing? blocks = null)
    {
        ArgumentNullException.ThrowIfNull(settings);
        ArgumentNullException.ThrowIfNull(time);
        _settings = settings;
        _waitForPort = waitForPort;
        _time = time;
        Blocks = blocks ?? new BlockRing();
        _finder = new PortFinder(settings.Port, settings.NamedPortsFolder);
    }

    /// <inheritdoc/>
    public string Kind => "serial";

    /// <inheritdoc/>
    public string Detail => $"{_settings.Port} at {_settings.Baud} baud";

    /// <inheritdoc/>
    public BlockRing Blocks { get; }

    /// <inheritdoc/>
    public Heartbeat ReaderBeat { get; } = new();

    Heartbeat? IPulseSource.ReaderBeat => ReaderBeat;

    /// <summary>Why the port is not open now, and what to do; null while it is open or before the first attempt.</summary>
    public SerialProblem? Problem => Volatile.Read(ref _problem);

    /// <inheritdoc/>
    public void Start()
    {
        lock (_gate)
        {
            ObjectDisposedException.ThrowIf(_disposed, this);
            if (_reader is not null)
                throw new InvalidOperationException("The source was started before.");
            _reader = new Thread(Run) { IsBackground = true, Name = "serial " + _settings.Port };
            _reader.Start();
        }
    }

    /// <inheritdoc/>
    public void Ask(ReadOnlySpan<byte> question)
    {
        lock (_gate)
        {
            // The block goes first, so that no answer can overtake its question.
            if (_link is not null && Blocks.TryWrite(SourceBlockKind.Asked, _time.MonotonicNs(), question))
                _link.Write(question);
        }
    }

    /// <summary>Ends the source; returns within about two seconds whatever state the port is in.</summary>
    public void Dispose()
    {
        lock (_gate)
        {
            if (_disposed)
                return;
            _disposed = _stopping = true;
            _stop.Set();
            _link?.Wake();
        }

        _reader?.Join(StopWaitMs);
        Blocks.Complete();
    }

    private void Run()
    {
        byte[] buffer = new byte[ReadBytes];
        int retryMs = FirstRetryMs;
        bool wasOpen = false;
        while (!_stopping)
        {
            ReaderBeat.Beat();
            string port = _finder.Next();
            if (SerialLinks.TryOpen(_settings with { Port = port }, out ISerialLink? link, out SerialProblem? problem))
            {
                wasOpen = true;
                _finder.Opened(port);
                if (Serve(link, port, buffer))
                    retryMs = FirstRetryMs;
            }
            else
            {
                Volatile.Write(ref _problem, problem);
                if (!wasOpen && !_waitForPort)
                {
                    Say(SourceBlockKind.LinkLost, problem.Message);
                    break;
                }
            }

            if (Stopping(retryMs))
                break;
            retryMs = Math.Min(retryMs * 2, LastRetryMs);
        }

        Blocks.Complete();
    }

    /// <summary>Reads until the link is gone or the source ends. True where bytes came.</summary>
    private bool Serve(ISerialLink link, string port, byte[] buffer)
    {
        bool heard = false;
        Volatile.Write(ref _problem, null);

        // The link goes first: what is asked as soon as it is said to be back must not go nowhere.
        SetLink(link);
        Say(SourceBlockKind.LinkBack, link.Name);
        while (!_stopping)
        {
            ReaderBeat.Beat();
            LinkRead read = link.Read(buffer, ReadWaitMs, out int count);
            long hostNs = _time.MonotonicNs();
            if (read == LinkRead.Gone)
                break;
            heard |= count > 0;
            if (count > 0)
                Blocks.TryWrite(SourceBlockKind.Bytes, hostNs, buffer.AsSpan(0, count));
        }

        SetLink(null);
        link.Dispose();
        if (!_stopping)
        {
            string lost = $"Port {port} went away: check the cable; it is looked for until it is back.";
            Volatile.Write(ref _problem, new SerialProblem(SerialProblemKind.NotThere, lost));
            Say(SourceBlockKind.LinkLost, lost);
        }

        return heard;
    }

    private void SetLink(ISerialLink? link)
    {
        lock (_gate)
        {
            _link = link;
        }
    }

    /// <summary>Puts in a block about the link; these are few and must not be lost, so room is waited for.</summary>
    private void Say(SourceBlockKind kind, string text)
    {
        byte[] payload = Encoding.UTF8.GetBytes(text);
        while (!Blocks.HasRoom(payload.Length))
        {
            ReaderBeat.Beat();
            if (Stopping(RoomWaitMs))
                return;
        }

        Blocks.TryWrite(kind, _time.MonotonicNs(), payload);
    }

    private bool Stopping(int milliseconds) => _stop.WaitOne(milliseconds);
}
