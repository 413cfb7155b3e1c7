using System.Buffers.Text;

namespace Acquire.Acquisition.Lines;

/// <summary>Decodes plain lines: one decimal number each, with no check. A line that is not a number, or one that cannot be, counts as bad.</summary>
public sealed class PlainLineDecoder : ISourceDecoder
{
    /// <summary>The number is a tick count, of 64 bits or wrapped at 32.</summary>
    public const string TicksFormat = "ticks";

    /// <summary>The number is the ticks since the last pulse.</summary>
    public const string IntervalFormat = "interval";

    /// <summary>The number is a speed in turns a minute.</summary>
    public const string RpmFormat = "rpm";

    /// <summary>Faster than anything that is measured here, turns a minute.</summary>
    public const double MostRpm = 1_000_000;

    private const double NsPerSecond = 1e9;
    private const double LongestIntervalS = 24 * 3600;
    private const long Wrap = 1L << 32;

    private readonly string _format;
    private readonly double _configuredHz;
    private readonly LineCutter _lines = new();
    private readonly TurnIntegrator _turns = new();
    private bool _any;
    private bool _joins;
    private long _lastRaw;
    private long _ticks;
    private long _hostNs;
    private long _received;
    private long _badLines;
    private long _restarts;

    /// <summary>Makes a decoder.</summary>
    /// <param name="format"><see cref="TicksFormat"/>, <see cref="IntervalFormat"/> or <see cref="RpmFormat"/>.</param>
    /// <param name="tickHz">Ticks a second, more than 0; not used for rpm, whose ticks are nanoseconds of the host.</param>
    public PlainLineDecoder(string format, double tickHz)
    {
        if (format is not (TicksFormat or IntervalFormat or RpmFormat))
            throw new ArgumentException($"'{format}' is no format of plain lines.", nameof(format));
        SourceFormats.CheckTickHz(tickHz);
        _format = format;
        _configuredHz = tickHz;
    }

    internal PlainLineDecoder(DecoderState state, PlainLineState plain)
        : this(state.Format, state.TickHz)
    {
        _lines.Restore(Convert.FromBase64String(state.Part), state.Skipping);
        (_any, _joins, _lastRaw, _ticks, _hostNs) = (plain.Any, plain.Joins, plain.LastRaw, plain.Ticks, plain.HostNs);
        _turns.Restore(plain.Any, plain.HostNs, plain.RevPerS, plain.Turns);
    }

    /// <inheritdoc/>
    public double TickHz => _format == RpmFormat ? NsPerSecond : _configuredHz;

    /// <inheritdoc/>
    public string BoardName => "";

    /// <inheritdoc/>
    public SourceCounts Counts => new(_received, _badLines + _lines.TooLong, 0, 0, _restarts, BytesLost: 0);

    /// <inheritdoc/>
    public bool WantsName(long hostNs) => false;

    /// <inheritdoc/>
    public void Decode(in SourceBlock block, List<SourceEvent> events)
    {
        ArgumentNullException.ThrowIfNull(events);
        if (block.Kind == SourceBlockKind.Bytes)
        {
            DecodeBytes(block.Payload, block.HostNs, events);
            return;
        }

        if (block.Kind is not (SourceBlockKind.LinkLost or SourceBlockKind.LinkBack))
            return;
        if (_lines.Drop())
            _badLines++;
        _joins = true;
        _turns.Break();
        events.Add(new SourceEvent(
            block.Kind == SourceBlockKind.LinkLost ? SourceEventKind.LinkLost : SourceEventKind.LinkBack, default, block.HostNs, 0));
    }

    /// <inheritdoc/>
    public string SaveState() => new DecoderState
    {
        Format = _format,
        TickHz = _configuredHz,
        Part = Convert.ToBase64String(_lines.Part),
        Skipping = _lines.IsSkipping,
        PlainLines = new PlainLineState
        {
            Any = _format == RpmFormat ? _turns.Any : _any,
            Joins = _joins,
            LastRaw = _lastRaw,
            Ticks = _ticks,
            HostNs = _format == RpmFormat ? _turns.HostNs : _hostNs,
            RevPerS = _turns.RevPerS,
            Turns = _turns.Turns,
        },
    }.ToJson();

    private void DecodeBytes(ReadOnlySpan<byte> bytes, long hostNs, List<SourceEvent> events)
    {
        while (true)
        {
            long tooLong = _lines.TooLong;
            if (!_lines.TryTake(ref bytes, out ReadOnlySpan<byte> line))
            {
                _joins |= _lines.TooLong != tooLong;
                return;
            }

            _joins |= _lines.TooLong != tooLong;
            bool good = _format switch
            {
                TicksFormat => TakeTicks(line, hostNs, events),
                IntervalFormat => TakeInterval(line, hostNs, events),
                _ => TakeSpeed(line, hostNs, events),
            };
            if (good)
                continue;
            _badLines++;
            _joins = true;
        }
    }

    private bool TakeTicks(ReadOnlySpan<byte> line, long hostNs, List<SourceEvent> events)
    {
        if (!TryWhole(line, out long raw) || raw < 0)
            return false;
        long step = _any ? raw - _lastRaw : 0;
        if (step < 0 && _lastRaw < Wrap && -step > Wrap / 2)
            step += Wrap;
        if (step < 0)
        {
            _restarts++;
            step = ElapsedTicks(hostNs);
            events.Add(new SourceEvent(SourceEventKind.BoardRestarted, new Pulse(unchecked(_ticks + step), 0, -1), hostNs, 0));
        }

        Tell(_any ? unchecked(_ticks + step) : raw, hostNs, events);
        _lastRaw = raw;
        return true;
    }

    private bool TakeInterval(ReadOnlySpan<byte> line, long hostNs, List<SourceEvent> events)
    {
        if (!TryWhole(line, out long interval) || interval <= 0 || interval > LongestIntervalS * _configuredHz)
            return false;
        // With lines missing in between, their intervals are too: the host's time stands in for them.
        long step = _any && _joins ? Math.Max(interval, ElapsedTicks(hostNs)) : interval;
        Tell(unchecked(_ticks + step), hostNs, events);
        return true;
    }

    private bool TakeSpeed(ReadOnlySpan<byte> line, long hostNs, List<SourceEvent> events)
    {
        if (!TryNumber(line, out double rpm) || rpm is < 0 or > MostRpm)
            return false;
        _received += _turns.Add(rpm / 60, hostNs, events);
        events.Add(new SourceEvent(SourceEventKind.Status, new Pulse(hostNs, 0, -1), hostNs, 0));
        return true;
    }

    private void Tell(long ticks, long hostNs, List<SourceEvent> events)
    {
        _received++;
        (_any, _joins, _ticks, _hostNs) = (true, false, ticks, hostNs);
        events.Add(new SourceEvent(SourceEventKind.Pulse, new Pulse(ticks, 0, -1), hostNs, 0));
    }

    private long ElapsedTicks(long hostNs) => (long)(Math.Max(hostNs - _hostNs, 0) / NsPerSecond * _configuredHz);

    private static bool TryWhole(ReadOnlySpan<byte> line, out long value)
    {
        ReadOnlySpan<byte> number = line.Trim(" \t"u8);
        if (Utf8Parser.TryParse(number, out value, out int used) && used == number.Length)
            return true;
        bool good = TryNumber(line, out double real) && Math.Abs(real) < long.MaxValue;
        value = good ? (long)Math.Round(real) : 0;
        return good;
    }

    private static bool TryNumber(ReadOnlySpan<byte> line, out double value)
    {
        ReadOnlySpan<byte> number = line.Trim(" \t"u8);
        return Utf8Parser.TryParse(number, out value, out int used) && used == number.Length && double.IsFinite(value);
    }
}
