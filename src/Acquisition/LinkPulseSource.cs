using System.Text;

namespace Acquire.Acquisition;

/// <summary>A source behind a port or line that may go away: delivers what it says from a thread of its own, stamped as soon as a read
/// returns. What goes away is looked for again after 0.2 s, then ever later up to 5 s, of real time whatever clock stamps the blocks.</summary>
public abstract class LinkPulseSource : IPulseSource
{
    private const int ReadWaitMs = 1000;
    private const int ReadBytes = 32 << 10;
    private const int FirstRetryMs = 200;
    private const int LastRetryMs = 5000;
    private const int RoomWaitMs = 10;
    private const int StopWaitMs = 2000;

    private readonly bool _waitForLink;
    private readonly ManualResetEvent _stop = new(false);
    private volatile bool _stopping; // as _stop, for where nothing is waited for
    private Thread? _reader;
    private LinkProblem? _problem;
    private bool _disposed;

    /// <summary>Makes a source that begins with <see cref="Start"/>.</summary>
    /// <param name="waitForLink">Where the link cannot be opened at first, keep trying; else the source ends at once, with a
    /// <see cref="SourceBlockKind.LinkLost"/> block that says why.</param>
    /// <param name="time">The clock that stamps the blocks.</param>
    /// <param name="blocks">Where the blocks go; null for a ring of the usual size.</param>
    private protected LinkPulseSource(bool waitForLink, TimeProvider time, BlockRing? blocks)
    {
        ArgumentNullException.ThrowIfNull(time);
        _waitForLink = waitForLink;
        Time = time;
        Blocks = blocks ?? new BlockRing();
    }

    /// <inheritdoc/>
    public abstract string Kind { get; }

    /// <inheritdoc/>
    public abstract string Detail { get; }

    /// <inheritdoc/>
    public BlockRing Blocks { get; }

    /// <inheritdoc/>
    public Heartbeat ReaderBeat { get; } = new();

    Heartbeat? IPulseSource.ReaderBeat => ReaderBeat;

    /// <inheritdoc/>
    public LinkProblem? Problem => Volatile.Read(ref _problem);

    /// <summary>The clock that stamps the blocks.</summary>
    private protected TimeProvider Time { get; }

    /// <summary>Held while <see cref="Link"/> changes or is used by another thread than the reader's.</summary>
    private protected object Gate { get; } = new();

    /// <summary>The link, where there is one.</summary>
    private protected ISourceLink? Link { get; private set; }

    /// <inheritdoc/>
    public void Start()
    {
        lock (Gate)
        {
            ObjectDisposedException.ThrowIf(_disposed, this);
            if (_reader is not null)
                throw new InvalidOperationException("The source was started before.");
            _reader = new Thread(Run) { IsBackground = true, Name = $"{Kind} {Detail}" };
            _reader.Start();
        }
    }

    /// <inheritdoc/>
    public virtual void Ask(ReadOnlySpan<byte> question)
    {
    }

    /// <summary>Ends the source; returns within about two seconds whatever state the link is in.</summary>
    public void Dispose()
    {
        lock (Gate)
        {
            if (_disposed)
                return;
            _disposed = _stopping = true;
            _stop.Set();
            Link?.Wake();
        }

        _reader?.Join(StopWaitMs);
        Blocks.Complete();
        GC.SuppressFinalize(this);
    }

    /// <summary>Opens the link, wherever it is to be found now.</summary>
    /// <returns>Null where that cannot be done; <paramref name="problem"/> then says why.</returns>
    private protected abstract ISourceLink? TryOpen(out LinkProblem? problem);

    /// <summary>What is said of a link that went away.</summary>
    private protected abstract string Lost { get; }

    private void Run()
    {
        byte[] buffer = new byte[ReadBytes];
        int retryMs = FirstRetryMs;
        bool wasOpen = false;
        while (!_stopping)
        {
            ReaderBeat.Beat();
            if (TryOpen(out LinkProblem? problem) is { } link)
            {
                wasOpen = true;
                if (Serve(link, buffer))
                    retryMs = FirstRetryMs;
            }
            else
            {
                Volatile.Write(ref _problem, problem);
                if (!wasOpen && !_waitForLink)
                {
                    Say(SourceBlockKind.LinkLost, problem!.Message);
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
    private bool Serve(ISourceLink link, byte[] buffer)
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
            long hostNs = Time.MonotonicNs();
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
            string lost = Lost;
            Volatile.Write(ref _problem, new LinkProblem(LinkProblemKind.NotThere, lost));
            Say(SourceBlockKind.LinkLost, lost);
        }

        return heard;
    }

    private void SetLink(ISourceLink? link)
    {
        lock (Gate)
        {
            Link = link;
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

        Blocks.TryWrite(kind, Time.MonotonicNs(), payload);
    }

    private bool Stopping(int milliseconds) => _stop.WaitOne(milliseconds);
}
