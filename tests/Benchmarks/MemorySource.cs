using Acquire.Acquisition;

namespace Acquire.Benchmarks;

/// <summary>The bytes of a spin straight from memory: the way of a pulse without a terminal.</summary>
internal sealed class MemorySource : IPulseSource
{
    private readonly SpinBytes _spin;
    private readonly PlayedClock _clock;
    private readonly Thread _thread;
    private readonly ManualResetEvent _stop = new(false);
    private double _processorS;

    internal MemorySource(SpinBytes spin, PlayedClock clock)
    {
        _spin = spin;
        _clock = clock;
        _thread = new Thread(Deliver) { Name = BoardThread.Name, IsBackground = true };
    }

    public string Kind => "simulation";

    public string Detail => "memory";

    public BlockRing Blocks { get; } = new(1 << 20);

    public void Start() => Blocks.TryWrite(SourceBlockKind.LinkBack, _clock.MonotonicNs(), "memory"u8);

    public void Ask(ReadOnlySpan<byte> question)
    {
        // Nobody is there to answer.
    }

    public void Dispose()
    {
        _stop.Set();
        Join();
        _stop.Dispose();
    }

    internal void Play() => _thread.Start();

    /// <summary>Waits for the end.</summary>
    /// <returns>Processor time that the delivering thread had, seconds.</returns>
    internal double Join()
    {
        if (_thread.IsAlive)
            _thread.Join();
        return _processorS;
    }

    private void Deliver()
    {
        int begin = 0;
        foreach ((int end, long ns) in _spin.Chunks)
        {
            while (!Blocks.HasRoom(end - begin))
            {
                if (_stop.WaitOne(1))
                    return;
            }

            _clock.Set(ns);
            Blocks.TryWrite(SourceBlockKind.Bytes, _clock.MonotonicNs(), _spin.Bytes.AsSpan(begin, end - begin));
            begin = end;
        }

        _processorS = ThreadTimes.OfThisThreadS();
    }
}
