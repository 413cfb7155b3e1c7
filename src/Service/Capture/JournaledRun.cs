using Acquire.Acquisition;
using Acquire.Acquisition.Clock;
using Acquire.Acquisition.Lines;
using Acquire.Motion;
using Acquire.Recording;

namespace Acquire.Service.Capture;

/// <summary>What a journal holds of one run, decoded again.</summary>
internal sealed class JournaledRun
{
    // Before this nobody had this program: the clock of a computer that keeps no time while it is off.
    private static readonly DateTimeOffset FirstLikely = new(2025, 1, 1, 0, 0, 0, TimeSpan.Zero);
    private readonly List<SourceEvent> _events = [];
    private UtcAnchor? _better;
    private RunBegan? _began;
    private long _lastHostNs;
    private long _ordinal = -1;
    private bool _ended;
    private bool _isHostClock;
    private SourceCounts _countsBefore;

    private JournaledRun(JournalStart start) => Start = start;

    /// <summary>The journal's start entry.</summary>
    public JournalStart Start { get; }

    /// <summary>The run's set-up.</summary>
    public RunSetup Setup => _began?.Setup ?? Start.Setup;

    /// <summary>The row of a plan that it was begun for; null where it follows none.</summary>
    public RunPlan? Plan => _began?.Plan;

    /// <summary>The run's pulses.</summary>
    public List<Pulse> Pulses { get; } = [];

    /// <summary>What happened to link and board between the run's first and last pulse: what, and when on the host's clock.</summary>
    public List<(SourceEventKind Kind, long HostNs, string Detail)> Happenings { get; } = [];

    /// <summary>What happened to the capture between the run's first and last pulse: an event, when on the host's clock, and more.</summary>
    public List<(string Event, long HostNs, string Detail)> Notes { get; } = [];

    /// <summary>What sensors of the air were found to say, before, during and after the run, and when on the host's clock.</summary>
    public List<(long HostNs, AirLooked Look)> Air { get; } = [];

    /// <summary>Nominal ticks a second.</summary>
    public double TickHz { get; private set; }

    /// <summary>What the board calls itself.</summary>
    public string BoardName { get; private set; } = "";

    /// <summary>Host time at which the first pulse arrived; at which it happened, where the source stamps by the host's own clock.</summary>
    public long FirstHostNs { get; private set; }

    /// <summary>Wall-clock time of the first pulse.</summary>
    public DateTimeOffset StartedAt => Utc(_better ?? Start.UtcAnchor);

    /// <summary>What the system said of the clock that <see cref="StartedAt"/> is by.</summary>
    public string HostClock => _better?.HostClock ?? Start.Settings.GetValueOrDefault(CaptureJournals.HostClockName, "");

    /// <summary>By how much a clock that was set later moved the start, s; null where it was not moved.</summary>
    public double? StartCorrectedS => _better is null ? null : (Utc(_better) - Utc(Start.UtcAnchor)).TotalSeconds;

    /// <summary>When the clock was set that corrected the start, on the host's monotonic clock.</summary>
    public long CorrectedAtNs => _better?.HostNs ?? 0;

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
        run._isHostClock = decoder.IsHostClock;
        var clock = new ClockFit(decoder.TickHz);
        while (reader.TryRead(out JournalRecord record))
        {
            if (record.Kind == JournalEntryKind.RunBegan && record.Entry<RunBegan>() is var began && began.FirstPulse == firstPulse)
                run._began = began;
            if (!record.IsBlock)
                run.TakeEntry(record);
            else if (!run._ended)
                run.Take(record.Block, decoder, ref clock, firstPulse, lastPulse);
        }

        if (!run._ended)
        {
            run._events.Clear();
            SourceCounts before = decoder.Counts;
            decoder.Finish(run._events);
            run.Take(before, "", decoder, ref clock, firstPulse, lastPulse);
        }

        run.Notes.RemoveAll(note => note.HostNs > run._lastHostNs);

        run.TickHz = decoder.TickHz;
        run.BoardName = decoder.BoardName;
        run.Clock = decoder.IsHostClock ? ClockEstimate.OfHost : clock.Estimate();
        run.Counts = decoder.Counts.Since(run._countsBefore);
        return run;
    }

    /// <summary>A run whose pulses were received otherwise, and which has no journal.</summary>
    /// <param name="start">What a journal would have begun with; its anchor is the time of the first pulse.</param>
    /// <param name="pulses">The pulses, one at least.</param>
    /// <param name="badLines">Lines that made no sense.</param>
    public static JournaledRun Of(JournalStart start, IReadOnlyList<Pulse> pulses, long badLines)
    {
        var run = new JournaledRun(start)
        {
            TickHz = start.Source.TickHz,
            FirstHostNs = start.UtcAnchor.HostNs,
            Counts = new SourceCounts(pulses.Count, badLines, 0, 0, 0, 0),
        };
        run.Pulses.AddRange(pulses);
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
        string text = block.Kind is SourceBlockKind.LinkLost or SourceBlockKind.LinkBack ? System.Text.Encoding.UTF8.GetString(block.Payload) : "";
        Take(before, text, decoder, ref clock, firstPulse, lastPulse);
    }

    private void Take(SourceCounts before, string text, ISourceDecoder decoder, ref ClockFit clock, long firstPulse, long lastPulse)
    {
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
                    Happened(e, text);
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
            FirstHostNs = _isHostClock ? e.Pulse.Ticks : e.HostNs;
            _countsBefore = before;
        }

        Pulses.Add(e.Pulse);
        _lastHostNs = e.HostNs;
    }

    private DateTimeOffset Utc(UtcAnchor anchor) => anchor.Utc.AddTicks((FirstHostNs - anchor.HostNs) / 100);

    private void TakeEntry(in JournalRecord record)
    {
        switch (record.Kind)
        {
            case JournalEntryKind.UtcAnchor:
                TakeAnchor(record.Entry<UtcAnchor>());
                break;
            case JournalEntryKind.AirLook:
                Air.Add((record.HostNs, record.Entry<AirLooked>()));
                break;
            case JournalEntryKind.Note when Pulses.Count > 0 && !_ended && record.Entry<JournalNote>() is { Event.Length: > 0 } note:
                Notes.Add((note.Event, record.HostNs, note.BytesLost > 0 ? $"{note.BytesLost} bytes: {note.Text}" : note.Text));
                break;
            case JournalEntryKind.CaptureResumed when Pulses.Count > 0 && !_ended:
                Notes.Add((RunEventNames.CaptureInterrupted, record.Entry<CaptureResumed>().LastHostNs, FormattableString.Invariant(
                    $"the program was cut short and went on after {(record.HostNs - record.Entry<CaptureResumed>().LastHostNs) * 1e-9:F1} s")));
                break;
        }
    }

    // The start's own time counts unless it was known to be unsure and the first that is surer comes later.
    private void TakeAnchor(UtcAnchor anchor)
    {
        string said = Start.Settings.GetValueOrDefault(CaptureJournals.HostClockName, "");
        bool surer = anchor.HostClock == HostSynchronisation.Synchronised && said != HostSynchronisation.Synchronised;
        bool likelier = Start.UtcAnchor.Utc < FirstLikely && anchor.Utc >= FirstLikely;
        if ((surer || likelier) && (_better is null || (surer && _better.HostClock != HostSynchronisation.Synchronised)))
            _better = anchor;
    }

    private void Happened(in SourceEvent e, string detail)
    {
        if (Pulses.Count > 0 && !_ended)
            Happenings.Add((e.Kind, e.HostNs, detail));
    }
}
