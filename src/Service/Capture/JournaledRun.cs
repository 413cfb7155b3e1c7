using Acquire.Acquisition;
using Acquire.Acquisition.Clock;
using Acquire.Acquisition.Lines;
using Acquire.Recording;

namespace Acquire.Service.Capture;

/// <summary>What a journal holds of one run, decoded again.</summary>
internal sealed class JournaledRun
{
    private readonly List<SourceEvent> _events = [];
    private long _ordinal = -1;
    private bool _ended;
    private SourceCounts _countsBefore;

    private JournaledRun(JournalStart start) => Start = start;

    /// <summary>The journal's start entry.</summary>
    public JournalStart Start { get; }

    /// <summary>The run's pulses.</summary>
    public List<Pulse> Pulses { get; } = [];

    /// <summary>What happened to link and board between the run's first and last pulse: what, and when on the host's clock.</summary>
    public List<(SourceEventKind Kind, long HostNs, string Detail)> Happenings { get; } = [];

    /// <summary>Nominal ticks a second.</summary>
    public double TickHz { get; private set; }

    /// <summary>What the board calls itself.</summary>
    public string BoardName { get; private set; } = "";

    /// <summary>Host time at which the first pulse arrived.</summary>
    public long FirstHostNs { get; private set; }

    /// <summary>Wall-clock time of the first pulse.</summary>
    public DateTimeOffset StartedAt => Start.UtcAnchor.Utc.AddTicks((FirstHostNs - Start.UtcAnchor.HostNs) / 100);

    /// <summary>The clock as the whole journal shows it.</summary>
    public ClockEstimate Clock { get; private set; }

    /// <summary>What was received and lost during the run.</summary>
    public SourceCounts Counts { get; private set; }

    /// <summary>Reads the pulses with ordinals from <paramref name="firstPulse"/> to <paramref name="lastPulse"/>.</summary>
    public static JournaledRun Read(string journal, long firstPulse, long lastPulse)
    {
        using var reader = new JournalReader(journal);
        JournalStart start = ReadStart(journal, reader);
        var run = new JournaledRun(start);
        ISourceDecoder decoder = start.DecoderState.Length > 0
            ? SourceFormats.RestoreDecoder(start.DecoderState)
            : SourceFormats.CreateDecoder(start.Source.Format, start.Source.TickHz);
        var clock = new ClockFit(decoder.TickHz);
        while (!run._ended && reader.TryRead(out JournalRecord record))
        {
            if (record.IsBlock)
                run.Take(record.Block, decoder, ref clock, firstPulse, lastPulse);
        }

        run.TickHz = decoder.TickHz;
        run.BoardName = decoder.BoardName;
        run.Clock = clock.Estimate();
        run.Counts = decoder.Counts.Since(run._countsBefore);
        return run;
    }

    /// <summary>Reads a journal's start entry.</summary>
    public static JournalStart ReadStart(string journal)
    {
        using var reader = new JournalReader(journal);
        return ReadStart(journal, reader);
    }

    private static JournalStart ReadStart(string journal, JournalReader reader) =>
        reader.TryRead(out JournalRecord first) && first.Kind == JournalEntryKind.Start
            ? first.Entry<JournalStart>()
            : throw new RunFormatException(journal, "first record", first.Kind.ToString(), "a start entry");

    private void Take(in SourceBlock block, ISourceDecoder decoder, ref ClockFit clock, long firstPulse, long lastPulse)
    {
        SourceCounts before = decoder.Counts;
        _events.Clear();
        decoder.Decode(block, _events);
        foreach (SourceEvent e in _events)
        {
            switch (e.Kind)
            {
                case SourceEventKind.Pulse:
                    clock.AddOneWay(e.Pulse.Ticks + e.Pulse.WidthTicks, e.HostNs); // the line leaves after the trailing edge
                    TakePulse(e, before, firstPulse, lastPulse);
                    break;
                case SourceEventKind.Status:
                    clock.AddOneWay(e.Pulse.Ticks, e.HostNs);
                    break;
                case SourceEventKind.TimeAnswer:
                    clock.AddTwoWay(e.AskedNs, e.Pulse.Ticks, e.HostNs);
                    break;
                case SourceEventKind.BoardNamed:
                    clock = new ClockFit(decoder.TickHz);
                    break;
                case SourceEventKind.BoardRestarted:
                    clock.Reset();
                    Happened(e, decoder.BoardName);
                    break;
                case SourceEventKind.LinkLost or SourceEventKind.LinkBack:
                    Happened(e, System.Text.Encoding.UTF8.GetString(block.Payload));
                    break;
            }
        }
    }

    private void TakePulse(in SourceEvent e, SourceCounts before, long firstPulse, long lastPulse)
    {
        _ordinal++;
        if (_ordinal < firstPulse)
            return;
        if (_ordinal > lastPulse)
        {
            _ended = true;
            return;
        }

        if (_ordinal == firstPulse)
        {
            FirstHostNs = e.HostNs;
            _countsBefore = before;
        }

        Pulses.Add(e.Pulse);
    }

    private void Happened(in SourceEvent e, string detail)
    {
        if (Pulses.Count > 0 && !_ended)
            Happenings.Add((e.Kind, e.HostNs, detail));
    }
}
