using System.Text;
using Acquire.Terminals;

namespace Acquire.Faults;

/// <summary>A pulse that was written into an open port.</summary>
/// <param name="Body">Which pulse of the body it is, from 0, counting those that were not sent too.</param>
/// <param name="Counter">The board's counter at it.</param>
/// <param name="Boot">How often the board had started.</param>
/// <param name="SentS">When it was written, s since the board was made.</param>
internal readonly record struct SentPulse(long Body, uint Counter, int Boot, double SentS);

/// <summary>A board that is unplugged and plugged in again, sometimes without power in between, over a body that spins on. It does nothing but in
/// <see cref="PlayUntil"/>.</summary>
internal sealed class PortBoard(string link, SpinText spin) : IDisposable
{
    private const int StepMs = 2;
    private readonly long _began = TimeProvider.System.GetTimestamp();
    private readonly ManualResetEventSlim _never = new();
    private readonly byte[] _got = new byte[256];
    private PseudoTerminal? _terminal;
    private int _boot = 1;
    private double _bootS;
    private double _launchedS = double.NaN;
    private double _nextS = double.PositiveInfinity;
    private double _statusS;
    private int _sequence;
    private long _body;

    /// <summary>Every pulse that was sent, in order.</summary>
    public List<SentPulse> Sent { get; } = [];

    /// <summary>When the port was opened, and when it was unplugged after that, s since the board was made.</summary>
    public List<(double OpenedS, double PulledS)> Open { get; } = [];

    public bool IsOpen { get; private set; }

    /// <summary>True where it was asked for its name since the port was opened.</summary>
    public bool HasSaidItsName { get; private set; }

    /// <summary>The device behind the link when it was last plugged in.</summary>
    public string Device { get; private set; } = "";

    /// <summary>Seconds since the board was made.</summary>
    public double NowS => TimeProvider.System.GetElapsedTime(_began).TotalSeconds;

    /// <summary>Seconds since the launch.</summary>
    public double SpinsForS => NowS - _launchedS;

    /// <summary>Plugs it in; <paramref name="elsewhere"/> makes sure that the link leads to another device than before, as when an adapter comes back
    /// under another number.</summary>
    public void Plug(bool elsewhere)
    {
        // The system gives the lowest number that is free.
        using PseudoTerminal? taken = elsewhere ? new PseudoTerminal() : null;
        _terminal = new PseudoTerminal(holdPort: false, link);
        Device = _terminal.PortPath;
    }

    /// <summary>Pulls the plug and removes the link.</summary>
    public void Pull()
    {
        if (IsOpen)
            Open[^1] = (Open[^1].OpenedS, NowS);
        _terminal?.Dispose();
        _terminal = null;
        IsOpen = false;
    }

    /// <summary>Power away and back: counter and sequence begin anew, under another boot id.</summary>
    public void Restart()
    {
        _boot++;
        _bootS = NowS;
        _sequence = 0;
        _statusS = NowS;
    }

    public void Launch() => _launchedS = _nextS = NowS + 0.05;

    /// <summary>The body is seen no more.</summary>
    public void Hide() => _nextS = double.PositiveInfinity;

    /// <summary>Plays until something is so.</summary>
    /// <returns>False where it is not within that time, s.</returns>
    public bool PlayUntil(Func<bool> what, double atMostS)
    {
        double until = NowS + atMostS;
        while (!what())
        {
            if (NowS > until)
                return false;
            Step();
        }

        return true;
    }

    public void Dispose()
    {
        _terminal?.Dispose();
        _never.Dispose();
    }

    private void Step()
    {
        int got = _terminal?.Read(_got, StepMs) ?? -1;
        if (got < 0)
            _never.Wait(StepMs);
        double now = NowS;
        if (got >= 0 && !IsOpen)
        {
            Open.Add((now, double.PositiveInfinity));
            HasSaidItsName = false;
        }

        IsOpen = got >= 0;
        var text = new StringBuilder(Answers(Math.Max(0, got), now));
        if (now - _statusS > 1)
        {
            text.Append(PulseText.Status(Ticks(now), _sequence));
            _statusS = now;
        }

        int before = Sent.Count;
        for (; _nextS < now; _nextS = _launchedS + spin.After(_nextS - _launchedS), _body++)
        {
            if (_nextS < _bootS)
                continue;
            text.Append(PulseText.Pulse(_sequence++, Ticks(_nextS), 200));
            if (IsOpen)
                Sent.Add(new SentPulse(_body, (uint)(Ticks(_nextS) & 0xFFFFFFFF), _boot, now));
        }

        if (IsOpen && text.Length > 0)
            _terminal!.Write(text.ToString());

        // When it was written at the latest: this thread may have waited.
        double written = NowS;
        for (int i = before; i < Sent.Count; i++)
            Sent[i] = Sent[i] with { SentS = written };
    }

    private string Answers(int got, double now)
    {
        var text = new StringBuilder();
        foreach (string question in Encoding.Latin1.GetString(_got, 0, got).Split('\n'))
        {
            if (question == "?")
            {
                text.Append(PulseText.Line($"H,1,2000000,32,{_boot:X4},faults"));
                HasSaidItsName = true;
            }
            else if (question.Length == 3 && question[0] == 'T')
                text.Append(PulseText.Line($"{question},{Ticks(now) & 0xFFFFFFFF:X8}"));
        }

        return text.ToString();
    }

    private long Ticks(double s) => (long)((s - _bootS) * 2e6);
}
