using System.Globalization;

namespace Acquire.Acquisition.Simulation;

/// <summary>A board that sends the pulse line protocol: counts, queues, and sends a line when the serial port is free. Answers and
/// status go before pulses. Pulled, not pushed: the caller says how far time has gone, so questions can be put at any moment.</summary>
public sealed class SimulatedBoard : IDisposable
{
    private const double LongestWidthS = 1; // a mark that lasts longer is sent without a width, when it has lasted that long
    private readonly BoardSettings _settings;
    private readonly BoardClock _clock;
    private readonly IEnumerator<SimulatedPulse> _pulses;
    private readonly Queue<SimulatedPulse> _queue = new();
    private readonly Queue<(double TimeS, int Number)> _asked = new(); // −1 asks for the name
    private readonly LineWriter _line = new();
    private readonly SeededNoise _noise;
    private readonly List<byte> _request = [];
    private readonly double _byteS;
    private readonly double _endS;
    private bool _hasPulse;
    private bool _lineWaits;
    private double _lineEndS;
    private double _freeS;
    private double _statusS = 1;
    private double _bootS;
    private long _bootTicks;
    private int _restart;
    private ushort _boot;
    private byte _sequence;
    private uint _seen;
    private ushort _dropped;

    /// <summary>Makes the board of a simulation.</summary>
    public SimulatedBoard(SimulatedSpin spin)
    {
        _settings = spin.Scenario.Board;
        _clock = spin.Clock;
        _endS = spin.Motion.DurationS;
        _pulses = spin.Pulses().GetEnumerator();
        _noise = new SeededNoise(spin.Scenario.Seed, 7);
        _byteS = 10 / _settings.Baud;
        _boot = (ushort)_noise.Below(0x10000);
        _asked.Enqueue((0, -1));
        _hasPulse = _pulses.MoveNext();
    }

    /// <summary>Bytes arrive at the board, the last of them at a moment.</summary>
    public void Receive(double timeS, ReadOnlySpan<byte> bytes)
    {
        foreach (byte next in bytes)
        {
            if (next == (byte)'\n')
            {
                Take(timeS);
                _request.Clear();
            }
            else if (next != (byte)'\r' && _request.Count < 64)
            {
                _request.Add(next);
            }
        }
    }

    /// <summary>Gives the next bytes, a line at a time, that have left the board by a moment.</summary>
    /// <param name="untilS">The moment, s of the scenario; infinity for all that is left.</param>
    /// <param name="timeS">When their last byte had left.</param>
    /// <param name="bytes">The bytes, valid until the next call.</param>
    /// <returns>False where no more have left by then.</returns>
    public bool TryNext(double untilS, out double timeS, out ReadOnlyMemory<byte> bytes)
    {
        bytes = default;
        while (_lineWaits || Compose(untilS))
        {
            timeS = _lineEndS;
            if (_lineEndS > untilS)
                return false;
            _lineWaits = false;
            if (!_noise.Chance(_settings.LineLossProbability))
            {
                bytes = _line.Line;
                return true;
            }
        }

        timeS = untilS;
        return false;
    }

    /// <summary>Whether the board goes on sending its status after the scenario's end. Off, so that an enumeration ends.</summary>
    public bool KeepsOn { get; init; }

    /// <summary>The next moment at which something may leave the board, s; a moment not after the true one.</summary>
    public double NextS => _lineWaits ? _lineEndS : Math.Max(_freeS, Earliest());

    /// <inheritdoc/>
    public void Dispose() => _pulses.Dispose();

    private void Take(double timeS)
    {
        if (_request.Count == 1 && _request[0] == (byte)'?')
            _asked.Enqueue((timeS, -1));
        else if (_settings.AnswersTime && _request.Count == 3 && _request[0] == (byte)'T'
            && byte.TryParse(System.Runtime.InteropServices.CollectionsMarshal.AsSpan(_request)[1..], NumberStyles.AllowHexSpecifier, null, out byte number))
            _asked.Enqueue((timeS, number));
    }

    private double Earliest()
    {
        double first = Math.Min(StatusDueS, _asked.Count > 0 ? _asked.Peek().TimeS : double.PositiveInfinity);
        if (_queue.Count > 0)
            return Math.Min(first, ReadyS(_queue.Peek()));
        return _hasPulse ? Math.Min(first, ReadyS(_pulses.Current)) : first;
    }

    private double StatusDueS => KeepsOn || _statusS <= _endS ? _statusS : double.PositiveInfinity;

    private double ReadyS(in SimulatedPulse pulse) =>
        pulse.TimeS + (_settings.SendsWidth ? Math.Min(pulse.WidthS, LongestWidthS) : 0);

    private bool Compose(double untilS)
    {
        double startS = Math.Max(_freeS, Earliest());
        if (_restart < _settings.RestartsS.Count && _settings.RestartsS[_restart] <= Math.Min(startS, untilS))
        {
            Restart(_settings.RestartsS[_restart++]);
            startS = Math.Max(_freeS, Earliest());
        }

        if (startS > untilS || double.IsPositiveInfinity(startS))
            return false;
        Collect(startS);
        if (_asked.Count > 0 && _asked.Peek().TimeS <= startS)
            Answer();
        else if (StatusDueS <= startS)
            SendStatus(startS);
        else if (_queue.Count > 0)
            SendPulse(_queue.Dequeue());
        else
            return Compose(untilS); // the pulses that were due came in before the board was up
        Transmit(startS);
        return true;
    }

    /// <summary>Takes in every pulse that was over by a moment, as far as there is room.</summary>
    private void Collect(double untilS)
    {
        for (; _hasPulse && ReadyS(_pulses.Current) <= untilS; _hasPulse = _pulses.MoveNext())
        {
            if (_pulses.Current.TimeS < _bootS)
                continue;
            _seen++;
            if (_queue.Count < _settings.QueuePulses)
                _queue.Enqueue(_pulses.Current);
            else if (_dropped < ushort.MaxValue)
                _dropped++;
        }
    }

    private void Answer()
    {
        (double timeS, int number) = _asked.Dequeue();
        if (number < 0)
            _line.Hello(_settings.TickHz, _settings.CounterBits, _boot, _settings.Name);
        else
            _line.Time((byte)number, Counter(timeS));
    }

    private void SendStatus(double timeS)
    {
        _line.Status(Counter(timeS), _seen, _dropped);
        _statusS += 1;
    }

    private void SendPulse(in SimulatedPulse pulse)
    {
        bool whole = _settings.SendsWidth && pulse.WidthS < LongestWidthS;
        uint tick = Counter(pulse.TimeS);
        _line.Pulse(_sequence, tick, whole ? unchecked(Counter(pulse.TimeS + pulse.WidthS) - tick) & Mask : null); // the counter wraps
        _sequence = unchecked((byte)(_sequence + 1)); // modulo 256 by definition
    }

    private void Transmit(double startS)
    {
        int length = _line.Line.Length;
        for (int i = 0; _settings.ByteErrorProbability > 0 && i < length; i++)
        {
            if (_noise.Chance(_settings.ByteErrorProbability))
                _line.Spoil(i, _noise.Below(8));
        }

        if (_restart < _settings.RestartsS.Count && _settings.RestartsS[_restart] < startS + (length * _byteS))
            _line.Cut(length = (int)((_settings.RestartsS[_restart] - startS) / _byteS));
        _freeS = _lineEndS = startS + (length * _byteS);
        _lineWaits = true;
    }

    private void Restart(double timeS)
    {
        Collect(timeS);
        _queue.Clear();
        _asked.Clear();
        _bootS = timeS + _settings.RestartS;
        _bootTicks = _clock.Ticks(_bootS);
        _freeS = _bootS;
        _statusS = _bootS + 1;
        _boot = unchecked((ushort)(_boot + 1)); // any other number will do
        _sequence = 0;
        _seen = 0;
        _dropped = 0;
        _asked.Enqueue((_bootS, -1));
    }

    private uint Mask => (uint)((1L << _settings.CounterBits) - 1);

    private uint Counter(double timeS) => (uint)((_clock.Ticks(timeS) - _bootTicks) & Mask);
}
