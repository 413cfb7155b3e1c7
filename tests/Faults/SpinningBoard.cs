using System.Text;
using Acquire.Terminals;

namespace Acquire.Faults;

/// <summary>A board on a pseudo-terminal that sees an invented spin for as long as it is there; it sends while somebody has the port open and
/// remembers what it sent when.</summary>
internal sealed class SpinningBoard : IDisposable
{
    private const int StepMs = 2;
    private readonly PseudoTerminal _terminal;
    private readonly SpinText _spin;
    private readonly Thread _thread;
    private readonly CancellationTokenSource _stop = new();
    private readonly List<(uint Counter, long SentNs)> _sent = [];
    private readonly long _began = TimeProvider.System.GetTimestamp();
    private double _launchedS = double.NaN;
    private double _nextS;
    private double _statusS;
    private int _pulses;

    public SpinningBoard(string link, SpinText spin)
    {
        _spin = spin;
        _terminal = new PseudoTerminal(holdPort: false, link);
        _thread = new Thread(Play) { IsBackground = true, Name = "board" };
        _thread.Start();
    }

    /// <summary>When the port was last opened, s since the board was made; NaN while it is not open.</summary>
    public double OpenSinceS { get; private set; } = double.NaN;

    /// <summary>Seconds since the board was made.</summary>
    public double NowS => TimeProvider.System.GetElapsedTime(_began).TotalSeconds;

    /// <summary>The next opening of the port sees a launch.</summary>
    public void LaunchAgain() => Volatile.Write(ref _launchedS, double.NaN);

    /// <summary>Counters of the pulses that were sent between two times, s since the board was made.</summary>
    public List<uint> Sent(double fromS, double untilS)
    {
        lock (_sent)
            return [.. _sent.Where(p => p.SentNs * 1e-9 >= fromS && p.SentNs * 1e-9 < untilS).Select(p => p.Counter)];
    }

    public void Dispose()
    {
        _stop.Cancel();
        _terminal.Dispose();
        _thread.Join(2000);
        _stop.Dispose();
    }

    private void Play()
    {
        try
        {
            while (!_stop.IsCancellationRequested)
                Step();
        }
        catch (Exception e) when (_stop.IsCancellationRequested && e is ObjectDisposedException or System.ComponentModel.Win32Exception)
        {
            // The terminal went first.
        }
    }

    private void Step()
    {
        Span<byte> question = stackalloc byte[256];
        int got = _terminal.Read(question, StepMs);
        double now = NowS;
        if (got < 0)
        {
            OpenSinceS = double.NaN;
            _stop.Token.WaitHandle.WaitOne(StepMs);
        }
        else if (double.IsNaN(OpenSinceS))
        {
            OpenSinceS = now;
            if (double.IsNaN(Volatile.Read(ref _launchedS)))
                Volatile.Write(ref _launchedS, _nextS = now + 0.05);
        }

        var text = new StringBuilder(got > 0 && question[..got].Contains((byte)'?') ? PulseText.Line(PulseText.Hello) : "");
        if (now - _statusS > 1)
        {
            text.Append(PulseText.Status(Ticks(now), _pulses));
            _statusS = now;
        }

        double launched = Volatile.Read(ref _launchedS);
        lock (_sent)
        {
            for (; !double.IsNaN(launched) && _nextS < now; _nextS = launched + _spin.After(_nextS - launched))
            {
                text.Append(PulseText.Pulse(_pulses++, Ticks(_nextS), 200));
                if (got >= 0)
                    _sent.Add(((uint)(Ticks(_nextS) & 0xFFFFFFFF), (long)(now * 1e9)));
            }
        }

        if (got >= 0 && text.Length > 0)
            _terminal.Write(text.ToString());
    }

    private static long Ticks(double s) => (long)(s * 2e6);
}
