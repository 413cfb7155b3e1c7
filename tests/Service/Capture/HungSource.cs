using Acquire.Acquisition;

namespace Acquire.Service.Tests.Capture;

/// <summary>A source whose port takes no more: each question to the board waits until it is let go, as a write to an unplugged port may. Its reader
/// lives for as long as the test moves its count.</summary>
internal sealed class HungSource : IPulseSource
{
    private readonly ManualResetEventSlim _letGo = new();

    public string Kind => "serial";

    public string Detail => "invented port";

    public BlockRing Blocks { get; } = new();

    public Heartbeat ReaderBeat { get; } = new();

    Heartbeat? IPulseSource.ReaderBeat => ReaderBeat;

    /// <summary>Set once the capture's thread is in the write that does not return.</summary>
    public ManualResetEventSlim Hangs { get; } = new();

    public void Start() => Blocks.TryWrite(SourceBlockKind.LinkBack, TimeProvider.System.MonotonicNs(), "invented"u8);

    public void Ask(ReadOnlySpan<byte> question)
    {
        Hangs.Set();
        _letGo.Wait();
    }

    public void LetGo() => _letGo.Set();

    public void Dispose()
    {
        LetGo();
        Blocks.Complete();
    }
}
