using Acquire.Acquisition.Lines;

namespace Acquire.Acquisition.Gpio;

/// <summary>Decodes what a GPIO line delivers (gpio-records.md). Ticks are nanoseconds of the host's own monotonic clock. With widths a pulse is told once
/// its trailing edge is there, or once it is clear that none will come.</summary>
public sealed class GpioEventDecoder : ISourceDecoder
{
    private const double NsPerSecond = 1e9;
    private const uint First = 1;
    private const string FallingFormat = "gpio-falling";
    private const string RisingFormat = "gpio-rising";
    private const string WidthsSuffix = "-widths";

    private readonly string _format;
    private readonly uint _leading;
    private readonly bool _widths;
    private uint? _next;
    private uint _latestKind;
    private long _latestNs = long.MinValue;
    private SourceEvent? _begun;
    private long _received;
    private long _bad;
    private long _lost;

    /// <summary>Makes a decoder.</summary>
    /// <param name="format">One of <see cref="Formats"/>.</param>
    public GpioEventDecoder(string format)
    {
        if (!Formats.Contains(format))
            throw new ArgumentException($"'{format}' is no format of a GPIO line.", nameof(format));
        _format = format;
        _leading = format.StartsWith(RisingFormat, StringComparison.Ordinal) ? GpioRecord.Rising : GpioRecord.Falling;
        _widths = format.EndsWith(WidthsSuffix, StringComparison.Ordinal);
    }

    internal GpioEventDecoder(DecoderState state, GpioState line)
        : this(state.Format)
    {
        (_next, _latestKind, _latestNs) = (line.Next, line.LatestKind, line.LatestNs);
        if (line.BegunNs is { } begunNs)
            _begun = new SourceEvent(SourceEventKind.Pulse, new Pulse(begunNs, 0, -1), line.BegunHostNs, 0);
    }

    /// <summary>Names of the formats.</summary>
    public static IReadOnlyList<string> Formats { get; } = [FallingFormat, RisingFormat, FallingFormat + WidthsSuffix, RisingFormat + WidthsSuffix];

    /// <inheritdoc/>
    public double TickHz => NsPerSecond;

    /// <inheritdoc/>
    public bool IsHostClock => true;

    /// <inheritdoc/>
    public string BoardName => "";

    /// <inheritdoc/>
    /// <remarks>Edges that the kernel dropped because its queue was full, or the host for want of room, show as gaps in the numbers and count as lost
    /// on the line.</remarks>
    public SourceCounts Counts => new(_received, _bad, _lost, 0, 0, BytesLost: 0);

    /// <summary>The format of a line's deliveries.</summary>
    internal static string FormatOf(GpioEdge edge, bool widths) =>
        (edge == GpioEdge.Rising ? RisingFormat : FallingFormat) + (widths ? WidthsSuffix : "");

    /// <inheritdoc/>
    public bool WantsName(long hostNs) => false;

    /// <inheritdoc/>
    public void Decode(in SourceBlock block, List<SourceEvent> events)
    {
        ArgumentNullException.ThrowIfNull(events);
        switch (block.Kind)
        {
            case SourceBlockKind.Bytes:
                DecodeRecords(block.Payload, block.HostNs, events);
                break;
            case SourceBlockKind.LinkLost:
                TurnLink(null, events);
                events.Add(new SourceEvent(SourceEventKind.LinkLost, default, block.HostNs, 0));
                break;
            case SourceBlockKind.LinkBack:
                TurnLink(First, events);
                events.Add(new SourceEvent(SourceEventKind.LinkBack, default, block.HostNs, 0));
                TellTime(block.HostNs, block.HostNs, events);
                break;
        }
    }

    /// <inheritdoc/>
    public void Finish(List<SourceEvent> events) => TellBegun(events, 0);

    /// <inheritdoc/>
    public string SaveState() => new DecoderState
    {
        Format = _format,
        TickHz = NsPerSecond,
        Gpio = new GpioState
        {
            Next = _next,
            LatestKind = _latestKind,
            LatestNs = _latestNs,
            BegunNs = _begun?.Pulse.Ticks,
            BegunHostNs = _begun?.HostNs ?? 0,
        },
    }.ToJson();

    private void DecodeRecords(ReadOnlySpan<byte> bytes, long hostNs, List<SourceEvent> events)
    {
        for (; bytes.Length >= GpioRecord.Bytes; bytes = bytes[GpioRecord.Bytes..])
            Take(GpioRecord.Read(bytes), hostNs, events);
        _bad += bytes.IsEmpty ? 0 : 1;
    }

    private void Take(in GpioRecord record, long hostNs, List<SourceEvent> events)
    {
        bool isEdge = record.Kind == _leading || (_widths && record.Kind is GpioRecord.Rising or GpioRecord.Falling);
        if (isEdge && record.TimeNs >= _latestNs && record.TimeNs <= hostNs && Count(record, events))
            TakeEdge(record, hostNs, events);
        else if (record.Kind is GpioRecord.Low or GpioRecord.High && record.TimeNs <= hostNs)
            TellTime(Math.Max(record.TimeNs, _latestNs), hostNs, events);
        else
            _bad++;
    }

    private void TakeEdge(in GpioRecord record, long hostNs, List<SourceEvent> events)
    {
        _latestNs = record.TimeNs;
        if (!_widths)
        {
            _received++;
            events.Add(new SourceEvent(SourceEventKind.Pulse, new Pulse(record.TimeNs, 0, (short)(record.Sequence & 0xFF)), hostNs, 0));
        }
        else if (record.Kind == _leading)
        {
            TellBegun(events, 0);
            _begun = new SourceEvent(SourceEventKind.Pulse, new Pulse(record.TimeNs, 0, -1), hostNs, 0);
        }
        else if (_begun is { } begun)
        {
            // A width that does not fit its field is left out: a body that stands still before the sensor.
            long width = record.TimeNs - begun.Pulse.Ticks;
            _begun = begun with { HostNs = hostNs };
            TellBegun(events, width <= uint.MaxValue ? (uint)width : 0);
        }
    }

    /// <summary>Counts what is missing before an edge. False where its number cannot be.</summary>
    private bool Count(in GpioRecord edge, List<SourceEvent> events)
    {
        uint gap = _next is { } next ? unchecked(edge.Sequence - next) : 0; // numbers go round at 2³²
        if (gap > int.MaxValue)
            return false;
        if (gap > 0)
            TellBegun(events, 0);

        // Of both edges every other one is leading; the first that is missing is so where a trailing one came last. Two trailing ones in a row: the kernel did
        // not tell of the leading one between them, or the second is it and was taken for a trailing one; then the third is no sign of another.
        bool isMissing = gap == 0 && edge.Kind != _leading && edge.Kind == _latestKind;
        _lost += !_widths ? gap : isMissing ? 1 : (_latestKind == _leading ? gap : gap + 1) / 2;
        _next = unchecked(edge.Sequence + 1);
        _latestKind = isMissing ? 0 : edge.Kind;
        return true;
    }

    private void TurnLink(uint? next, List<SourceEvent> events)
    {
        TellBegun(events, 0);
        (_next, _latestKind) = (next, 0);
    }

    private void TellBegun(List<SourceEvent> events, uint widthNs)
    {
        if (_begun is not { } begun)
            return;
        _begun = null;
        _received++;
        events.Add(begun with { Pulse = begun.Pulse with { WidthTicks = widthNs } });
    }

    // The counter is the host's clock, so that its state is known at any moment.
    private static void TellTime(long ticks, long hostNs, List<SourceEvent> events) =>
        events.Add(new SourceEvent(SourceEventKind.Status, new Pulse(ticks, 0, -1), hostNs, 0));
}
