using System.Text;
using Acquire.Acquisition;

namespace Acquire.Service.Tests.Capture;

/// <summary>A board with somebody's own sketch on it: says its lines at their times, then falls silent and ends.</summary>
internal sealed class TextSource(IReadOnlyList<(double TimeS, string Line)> lines, double silentS, TimeProvider time) : IPulseSource
{
    private readonly CancellationTokenSource _stop = new();

    public string Kind => "serial";

    public string Detail => "invented lines";

    public BlockRing Blocks { get; } = new();

    public void Start() => new Thread(Play) { IsBackground = true }.Start();

    public void Ask(ReadOnlySpan<byte> question) => throw new InvalidOperationException("A board with plain lines is asked nothing.");

    public void Dispose() => _stop.Cancel();

    private void Play()
    {
        long start = time.MonotonicNs();
        Blocks.TryWrite(SourceBlockKind.LinkBack, start, "invented"u8);
        int at = 0;
        while (at < lines.Count && !_stop.IsCancellationRequested)
        {
            long now = time.MonotonicNs();
            for (; at < lines.Count && start + (long)(lines[at].TimeS * 1e9) <= now; at++)
                Blocks.TryWrite(SourceBlockKind.Bytes, start + (long)(lines[at].TimeS * 1e9), Encoding.ASCII.GetBytes(lines[at].Line + "\n"));
            _stop.Token.WaitHandle.WaitOne(1);
        }

        while (time.MonotonicNs() - start < (long)((lines[^1].TimeS + silentS) * 1e9) && !_stop.IsCancellationRequested)
            _stop.Token.WaitHandle.WaitOne(5);
        Blocks.Complete();
    }
}
