using Acquire.Acquisition;
using Acquire.Acquisition.Lines;
using Acquire.Service.Capture;

namespace Acquire.Service.Sensor;

/// <summary>Listens to a source for a time. The time begins with the first sign of life, since a board that was started by the opening of
/// its port takes a second or two to speak; a silent one is given up after <see cref="PatienceS"/>.</summary>
internal sealed class SensorWatch(CaptureOptions options, IPulseSource source, TimeProvider time, double seconds)
{
    /// <summary>Seconds that a source may take to say its first word.</summary>
    internal const double PatienceS = 5;

    /// <summary>How far the live line looks back, s.</summary>
    internal const double RecentS = 10;

    private const int WaitMs = 20;
    private const long OpeningNs = 3_000_000_000; // a board that the opening of its port restarts does so by then
    private const long LookEveryNs = 250_000_000;
    private readonly ISourceDecoder _decoder = SourceFormats.CreateDecoder(options.SourceFormat(), options.TickHz);
    private readonly List<SourceEvent> _events = [];
    private readonly List<Pulse> _pulses = [];
    private int _linkLosses;
    private int _excused;
    private long _startNs;
    private long _firstNs;
    private long _nowNs;

    /// <summary>Port and board, for people.</summary>
    internal string Source => _decoder.BoardName.Length > 0 ? $"{_decoder.BoardName} on {source.Detail}" : source.Detail;

    /// <summary>True where the source's link was there at some time.</summary>
    internal bool WasLinked { get; private set; }

    /// <summary>True where the source's link is there now.</summary>
    internal bool IsLinked { get; private set; }

    /// <summary>Listens until the time is over, the source ends or the user ends it.</summary>
    /// <param name="look">Called now and then with what the last <see cref="RecentS"/> seconds brought and the seconds left.</param>
    /// <param name="stop">The user's word.</param>
    internal SensorView Run(Action<Func<SensorView>, double> look, CancellationToken stop)
    {
        var questions = new Questions(options.SourceFormat(), _decoder);
        source.Start();
        _startNs = _nowNs = time.MonotonicNs();
        long lookedNs = _startNs;
        while (!stop.IsCancellationRequested && !source.Blocks.IsFinished && LeftS() > 0)
        {
            source.Blocks.Wait(WaitMs);
            while (source.Blocks.TryRead(out SourceBlock block))
                Take(block);
            _nowNs = time.MonotonicNs();
            questions.Ask(source, _nowNs);
            if (_nowNs - lookedNs < LookEveryNs)
                continue;
            lookedNs = _nowNs;
            look(() => Recent(), LeftS());
        }

        // Lines of a board that never named itself are still held back; a block later by as much as they may wait lets them out.
        Take(new SourceBlock(SourceBlockKind.Bytes, _nowNs + 10_000_000_000, default));
        return View();
    }

    private double LeftS() =>
        _firstNs > 0 ? seconds - ((_nowNs - _firstNs) / 1e9) : Math.Max(seconds, PatienceS) - ((_nowNs - _startNs) / 1e9);

    private SensorView View() => new(
        _pulses, _decoder.TickHz, (_nowNs - (_firstNs > 0 ? _firstNs : _startNs)) / 1e9, _firstNs > 0,
        _decoder.Counts with { BytesLost = source.Blocks.BytesLost, Restarts = _decoder.Counts.Restarts - _excused }, _linkLosses);

    private SensorView Recent()
    {
        SensorView all = View();
        double backTicks = RecentS * _decoder.TickHz;
        int from = _pulses.Count;
        while (from > 0 && _pulses[^1].Ticks - _pulses[from - 1].Ticks < backTicks)
            from--;
        return all with { Pulses = _pulses[from..], WatchedS = Math.Min(all.WatchedS, RecentS) };
    }

    private void Take(in SourceBlock block)
    {
        _events.Clear();
        _decoder.Decode(block, _events);
        foreach (SourceEvent said in _events)
        {
            switch (said.Kind)
            {
                case SourceEventKind.LinkLost:
                    _linkLosses += IsLinked ? 1 : 0;
                    IsLinked = false;
                    continue;
                case SourceEventKind.LinkBack:
                    WasLinked = IsLinked = true;
                    continue;
                case SourceEventKind.BoardRestarted:
                    _excused += said.HostNs - _startNs < OpeningNs ? 1 : 0;
                    break;
                case SourceEventKind.Pulse:
                    _pulses.Add(said.Pulse);
                    break;
            }

            if (_firstNs == 0)
                _firstNs = said.HostNs;
        }
    }
}
