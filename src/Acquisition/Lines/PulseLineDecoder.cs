using System.Globalization;

namespace Acquire.Acquisition.Lines;

/// <summary>Decodes the pulse line protocol, version 1 (hardware/protocol). What comes before the board has said what it is waits for that, at
/// most 3 s of the blocks' time or 4,096 lines; then it counts as a 32-bit counter at the configured rate. After the link was away it waits again,
/// where the board has named itself before: whether that one went on or began anew decides what its numbers mean.</summary>
public sealed class PulseLineDecoder : ISourceDecoder
{
    /// <summary>The format's name.</summary>
    public const string Format = "pulse-lines";

    private const int PresumedBits = 32;
    private const int MostHeld = 4096;
    private const long HoldNs = 3_000_000_000;
    private const long AskEveryNs = 2_000_000_000;
    private const long Never = long.MinValue;

    private readonly double _configuredHz;
    private readonly LineCutter _lines = new();
    private readonly JoinedCounter _counter;
    private readonly SequenceCheck _sequence = new();
    private readonly StatusCheck _status = new();
    private readonly List<HeldLine> _held = [];
    private readonly long[] _askedNs = new long[256];
    private BoardIdentity? _board;
    private bool _settled;
    private bool _nameIsStale = true;
    private bool _restartInferred;
    private long _wantedNameNs = Never;
    private long _received;
    private long _badLines;
    private long _lostOnLine;
    private long _droppedByBoard;
    private long _restarts;

    /// <summary>Makes a decoder that knows nothing of the board yet.</summary>
    /// <param name="tickHz">Ticks a second for a board that does not say; more than 0.</param>
    public PulseLineDecoder(double tickHz)
    {
        SourceFormats.CheckTickHz(tickHz);
        _configuredHz = tickHz;
        _counter = new JoinedCounter(tickHz, PresumedBits);
        Array.Fill(_askedNs, Never);
    }

    internal PulseLineDecoder(DecoderState state, PulseLineState board)
        : this(state.TickHz)
    {
        _lines.Restore(Convert.FromBase64String(state.Part), state.Skipping);
        _board = board.Board;
        _settled = board.Settled;
        _nameIsStale = board.NameIsStale;
        _restartInferred = board.RestartInferred;
        _wantedNameNs = board.WantedNameNs;
        if (_board is not null)
            _counter.Set(_board.TickHz, _board.Bits);
        _counter.State = board.Counter;
        _sequence.Next = board.NextSequence;
        _sequence.LatestTicks = board.LatestPulseTicks;
        _status.State = board.Status;
        _held.AddRange(board.Held);
        foreach ((string asked, long hostNs) in board.AskedNs)
            _askedNs[int.Parse(asked, NumberStyles.HexNumber)] = hostNs;
    }

    /// <inheritdoc/>
    public double TickHz => _board?.TickHz ?? _configuredHz;

    /// <inheritdoc/>
    public string BoardName => _board?.Name ?? "";

    /// <inheritdoc/>
    /// <remarks>What the host had no room for is not in the blocks: <see cref="BlockRing.BytesLost"/> tells it.</remarks>
    public SourceCounts Counts =>
        new(_received, _badLines + _lines.TooLong, _lostOnLine, _droppedByBoard, _restarts, BytesLost: 0);

    /// <inheritdoc/>
    /// <remarks>At most every 2 s, until the board has named itself; again after the link was away or the board seems to have
    /// started anew.</remarks>
    public bool WantsName(long hostNs)
    {
        if (!_nameIsStale || (_wantedNameNs != Never && hostNs - _wantedNameNs < AskEveryNs))
            return false;
        _wantedNameNs = hostNs;
        return true;
    }

    /// <inheritdoc/>
    public void Decode(in SourceBlock block, List<SourceEvent> events)
    {
        ArgumentNullException.ThrowIfNull(events);
        if (_held.Count > 0 && block.HostNs - _held[0].HostNs >= HoldNs)
            ReleaseUnnamed(events);
        switch (block.Kind)
        {
            case SourceBlockKind.Bytes:
                DecodeBytes(block.Payload, block.HostNs, events);
                break;
            case SourceBlockKind.Asked:
                NoteQuestion(block.Payload, block.HostNs);
                break;
            case SourceBlockKind.LinkLost:
                TurnLink(events);
                events.Add(new SourceEvent(SourceEventKind.LinkLost, default, block.HostNs, 0));
                break;
            case SourceBlockKind.LinkBack:
                TurnLink(events);
                _nameIsStale = true;
                _wantedNameNs = Never;
                _settled &= _board is null;
                events.Add(new SourceEvent(SourceEventKind.LinkBack, default, block.HostNs, 0));
                break;
        }
    }

    /// <inheritdoc/>
    public void Finish(List<SourceEvent> events)
    {
        if (_held.Count > 0)
            ReleaseUnnamed(events);
    }

    /// <inheritdoc/>
    public string SaveState() => new DecoderState
    {
        Format = Format,
        TickHz = _configuredHz,
        Part = Convert.ToBase64String(_lines.Part),
        Skipping = _lines.IsSkipping,
        PulseLines = new PulseLineState
        {
            Board = _board,
            Settled = _settled,
            NameIsStale = _nameIsStale,
            RestartInferred = _restartInferred,
            WantedNameNs = _wantedNameNs,
            Counter = _counter.State,
            NextSequence = _sequence.Next,
            LatestPulseTicks = _sequence.LatestTicks,
            Status = _status.State,
            Held = [.. _held],
            AskedNs = Enumerable.Range(0, _askedNs.Length).Where(asked => _askedNs[asked] != Never)
                .ToDictionary(asked => asked.ToString("X2"), asked => _askedNs[asked]),
        },
    }.ToJson();

    private void DecodeBytes(ReadOnlySpan<byte> bytes, long hostNs, List<SourceEvent> events)
    {
        while (_lines.TryTake(ref bytes, out ReadOnlySpan<byte> line))
        {
            BoardLine read = BoardLine.Parse(line, out ReadOnlySpan<byte> body);
            if (read.Kind == BoardLineKind.Bad)
                _badLines++;
            else if (read.Kind == BoardLineKind.Hello)
                Greet(BoardIdentity.Parse(body), hostNs, events);
            else
                Take(read, hostNs, events);
        }
    }

    private void Take(BoardLine line, long hostNs, List<SourceEvent> events)
    {
        long askedNs = 0;
        if (line.Kind == BoardLineKind.Time && _askedNs[line.Tag] != Never)
        {
            askedNs = _askedNs[line.Tag];
            _askedNs[line.Tag] = Never;
        }

        if (_settled)
        {
            Tell(line, hostNs, askedNs, events);
            return;
        }

        _held.Add(new HeldLine(line, hostNs, askedNs));
        if (_held.Count >= MostHeld)
            ReleaseUnnamed(events);
    }

    private void Tell(in BoardLine line, long hostNs, long askedNs, List<SourceEvent> events)
    {
        bool isPulse = line.Kind == BoardLineKind.Pulse;
        if (_counter.BeganAgain(line.Tick, hostNs, isPulse) || (line.Kind == BoardLineKind.Status && _status.Fell(line.Number)))
        {
            _nameIsStale = true;
            _restartInferred = true;
            Restart(hostNs, events);
        }

        long ticks = _counter.Widen(line.Tick, hostNs, isPulse);
        switch (line.Kind)
        {
            case BoardLineKind.Pulse:
                _received++;
                int lost = _sequence.Take(line.Tag, ticks);
                _lostOnLine += lost;
                _status.Count(lost);
                events.Add(new SourceEvent(SourceEventKind.Pulse, new Pulse(ticks, line.Number, line.Tag), hostNs, 0));
                break;
            case BoardLineKind.Status:
                (int dropped, long lostUnseen) = _status.Take(line.Number, line.Dropped);
                _droppedByBoard += dropped;
                _lostOnLine += lostUnseen;
                events.Add(new SourceEvent(SourceEventKind.Status, new Pulse(ticks, 0, -1), hostNs, 0));
                break;
            default:
                // An answer to a question that this journal does not hold still tells the counter.
                SourceEventKind kind = askedNs == 0 ? SourceEventKind.Status : SourceEventKind.TimeAnswer;
                events.Add(new SourceEvent(kind, new Pulse(ticks, 0, -1), hostNs, askedNs));
                break;
        }
    }

    private void Greet(BoardIdentity? board, long hostNs, List<SourceEvent> events)
    {
        if (board is null)
        {
            _badLines++;
            return;
        }

        bool first = _board is null;
        bool explains = _restartInferred || board == _board;
        bool otherCounter = _settled && !_counter.Is(board.TickHz, board.Bits);
        _nameIsStale = false;
        _restartInferred = false;
        _board = board;
        if (!first && !explains)
            RestartFrom(hostNs, events);
        else if (otherCounter)
            _counter.Rejoin(); // what was read so far under a wrong rate or width cannot be made good; the ticks go on from it
        _counter.Set(board.TickHz, board.Bits);
        Release(events);
        if (first)
            events.Add(new SourceEvent(SourceEventKind.BoardNamed, new Pulse(_counter.LastTicks, 0, -1), hostNs, 0));
    }

    /// <summary>Another boot id than before. Lines that waited for it are the new boot's, unless its counter cannot have come that far.</summary>
    private void RestartFrom(long hostNs, List<SourceEvent> events)
    {
        bool areOld = _held.Count > 0 && !_counter.MayHaveBegun(_held[0].Line.Tick, _held[0].HostNs);
        if (areOld)
            Release(events);
        Restart(_held.Count > 0 ? _held[0].HostNs : hostNs, events);
    }

    private void Restart(long hostNs, List<SourceEvent> events)
    {
        _restarts++;
        _sequence.Forget();
        _status.Restart();
        events.Add(new SourceEvent(SourceEventKind.BoardRestarted, new Pulse(_counter.Expected(hostNs), 0, -1), hostNs, 0));
        _counter.Rejoin();
    }

    /// <summary>Decodes what waited, with what is known now.</summary>
    private void Release(List<SourceEvent> events)
    {
        _settled = true;
        foreach (HeldLine held in _held)
            Tell(held.Line, held.HostNs, held.AskedNs, events);
        _held.Clear();
    }

    /// <summary>Decodes what waited although the board has not named itself: it may be another one.</summary>
    private void ReleaseUnnamed(List<SourceEvent> events)
    {
        ForgetNumbers();
        Release(events);
    }

    /// <summary>The link went or came: the line begun will never end. Pulses that the board sent meanwhile are lost on the line.</summary>
    private void TurnLink(List<SourceEvent> events)
    {
        if (!_settled && _board is not null)
            ReleaseUnnamed(events); // no name will come for these
        if (_lines.Drop())
            _badLines++;
        if (_board is null)
            ForgetNumbers();
        else
            _status.LinkTurned(isSameBoard: true);
    }

    private void ForgetNumbers()
    {
        _sequence.Forget();
        _status.LinkTurned(isSameBoard: false);
    }

    private void NoteQuestion(ReadOnlySpan<byte> question, long hostNs)
    {
        question = question.TrimEnd("\r\n"u8);
        if (question.Length == 3 && question[0] == 'T' && Hex.TryAny(question[1..], out uint asked))
            _askedNs[asked] = hostNs;
        else if (question.SequenceEqual("?"u8))
            _wantedNameNs = Math.Max(_wantedNameNs, hostNs);
    }
}
