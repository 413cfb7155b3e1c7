using Acquire.Acquisition;
using Acquire.Acquisition.Simulation;
using Acquire.Terminals;

namespace Acquire.Player;

/// <summary>Plays a simulated board through a pseudo-terminal at a multiple of real time and answers what it is asked.</summary>
internal sealed class BoardPlayer : IDisposable
{
    private const int StepMs = 2;
    private const double AskedWithinS = 1;
    private const double DrainedWithinS = 10;
    private readonly PseudoTerminal _terminal;
    private readonly SimulatedSpin _spin;
    private readonly SimulatedBoard _board;
    private readonly TimeProvider _time = TimeProvider.System;
    private readonly double _speed;
    private readonly int _noiseBytes;
    private readonly bool _stays;
    private readonly byte[] _received = new byte[256];
    private readonly byte[] _out = new byte[16 << 10];
    private long _startNs;
    private bool _isOpen;

    internal BoardPlayer(PseudoTerminal terminal, SimulatedSpin spin, double speed, int noiseBytes, bool stays)
    {
        _terminal = terminal;
        _spin = spin;
        _board = new SimulatedBoard(spin) { KeepsOn = true };
        _speed = speed;
        _noiseBytes = noiseBytes;
        _stays = stays;
    }

    public void Dispose() => _board.Dispose();

    /// <summary>Waits for the port to be opened, plays, and waits until what was sent has been read.</summary>
    /// <returns>False where it was ended before that.</returns>
    internal bool Play(CancellationToken cancel)
    {
        int waiting = WaitForPort(cancel);
        _startNs = _time.MonotonicNs();
        SendNoise();
        _board.Receive(0, _received.AsSpan(0, waiting));
        while (!cancel.IsCancellationRequested && (_stays || NowS() < _spin.Motion.DurationS))
            Step(cancel);
        return !cancel.IsCancellationRequested && WaitUntilRead(cancel);
    }

    /// <summary>Waits until the port is open, and then for a first question, for a second at most.</summary>
    /// <returns>Bytes of that question.</returns>
    private int WaitForPort(CancellationToken cancel)
    {
        int got = _terminal.Read(_received, StepMs);
        for (; got < 0 && !cancel.IsCancellationRequested; got = _terminal.Read(_received, StepMs))
            cancel.WaitHandle.WaitOne(10);
        long opened = _time.MonotonicNs();
        while (got <= 0 && !cancel.IsCancellationRequested && _time.MonotonicNs() - opened < AskedWithinS * 1e9)
            got = _terminal.Read(_received, 20);
        _isOpen = true;
        return Math.Max(0, got);
    }

    private void Step(CancellationToken cancel)
    {
        double waitMs = Math.Clamp((_board.NextS - NowS()) / _speed * 1000, 0, StepMs * 10);
        int got = _terminal.Read(_received, Math.Max(1, (int)waitMs));
        _isOpen = got >= 0;
        if (!_isOpen)
            cancel.WaitHandle.WaitOne(StepMs);
        double nowS = NowS();
        if (got > 0)
            _board.Receive(nowS, _received.AsSpan(0, got));
        int length = 0;
        while (_board.TryNext(nowS, out _, out ReadOnlyMemory<byte> line))
        {
            if (length + line.Length > _out.Length)
                length = Send(length);
            line.CopyTo(_out.AsMemory(length));
            length += line.Length;
        }

        Send(length);
    }

    /// <summary>A board's bytes are lost while nobody has the port open.</summary>
    private int Send(int length)
    {
        if (_isOpen && length > 0)
            _terminal.Write(_out.AsSpan(0, length));
        return 0;
    }

    private void SendNoise()
    {
        var noise = new SeededNoise(_spin.Scenario.Seed, 50);
        for (int left = _noiseBytes; left > 0;)
        {
            int length = Math.Min(left, _out.Length);
            for (int i = 0; i < length; i++)
                _out[i] = (byte)noise.Below(256);
            Send(length);
            left -= length;
        }
    }

    private bool WaitUntilRead(CancellationToken cancel)
    {
        long ended = _time.MonotonicNs();
        using var port = new PortQueue(_terminal.PortPath);
        int empty = 0;
        while (empty < 5 && !cancel.IsCancellationRequested && _time.MonotonicNs() - ended < DrainedWithinS * 1e9)
        {
            empty = port.WaitingBytes() == 0 ? empty + 1 : 0;
            cancel.WaitHandle.WaitOne(20);
        }

        return empty == 5;
    }

    private double NowS() => (_time.MonotonicNs() - _startNs) * 1e-9 * _speed;
}
