namespace Acquire.Acquisition.Clock;

/// <summary>Relates a board's tick counter to the host's clock. Lines that come by themselves say only that they cannot have been sent
/// later than they arrived, so that the earliest arrivals bound the board's time; a question and its answer bound it from both sides.
/// Memory is bounded. Deterministic, so that a journal played again gives the same. Not safe for several threads.</summary>
/// <remarks>A board that starts anew keeps its rate: call <see cref="Reset"/>, and the segments share one slope. Times may be of any scale:
/// nothing here knows what delay is usual. Of lines alone it is taken that delays do not change in the course of time. An adapter that
/// hands bytes over every 16 ms breaks that when status lines, sent to the tick by a board within 10 ppm or so, fall into step with it: up
/// to 16 ms over the window, 4.4 ppm in an hour, which the stated uncertainty may then not cover. Pulses, which come at any moment, or
/// answers cure it: feed them as well.</remarks>
public sealed class ClockFit
{
    private const double LeastWindowS = 10;
    private const int LeastSamples = 8;
    private readonly double _tickHz;
    private readonly SampleStore _oneWay;
    private readonly SampleStore _twoWay;
    private double _hostPerBoard = 1;
    private int _segment;
    private bool _hasStart;
    private long _startTicks;
    private long _startNs;

    /// <summary>Makes a fit.</summary>
    /// <param name="tickHz">Nominal ticks a second.</param>
    /// <param name="capacity">Most samples kept of each kind, 64 or more.</param>
    public ClockFit(double tickHz, int capacity = 4096)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(tickHz);
        ArgumentOutOfRangeException.ThrowIfLessThan(capacity, 64);
        _tickHz = tickHz;
        _oneWay = new SampleStore(capacity, byDelay: false);
        _twoWay = new SampleStore(capacity, byDelay: true);
    }

    /// <summary>Adds a line that came by itself.</summary>
    /// <param name="ticks">The board's counter, unwrapped, at the moment at which the line was ready to be sent: of a status line its tick,
    /// of a pulse its leading edge and its width together. With the leading edge alone the delay would grow as the body slows, and the
    /// rate would be wrong by some millionths.</param>
    /// <param name="hostNs">When it arrived, ns of the host's monotonic clock.</param>
    public void AddOneWay(long ticks, long hostNs) => Add(_oneWay, Sample(ticks, hostNs, 0));

    /// <summary>Adds a question for the board's time and its answer.</summary>
    /// <param name="askedNs">The host's clock before the question was sent, ns.</param>
    /// <param name="ticks">The board's counter, unwrapped, when the question had arrived.</param>
    /// <param name="answeredNs">The host's clock when the answer had arrived, ns.</param>
    /// <exception cref="ArgumentOutOfRangeException">The answer came before the question.</exception>
    public void AddTwoWay(long askedNs, long ticks, long answeredNs)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(answeredNs, askedNs);
        long delayNs = answeredNs - askedNs;
        Add(_twoWay, Sample(ticks, askedNs + (delayNs / 2), delayNs * 1e-9));
    }

    /// <summary>Begins a new segment: the board started anew, or its link to the host's time was cut. Its rate is the same as before.</summary>
    public void Reset()
    {
        if (_hasStart)
            _segment++;
        _hasStart = false;
    }

    /// <summary>What is known by now; a few milliseconds of work at most.</summary>
    public ClockEstimate Estimate()
    {
        RateFit? one = EnvelopeFit.Of(_oneWay.Kept, LeastSamples, LeastWindowS);
        RateFit? two = TwoWayFit.Of(_twoWay.Kept, LeastSamples, LeastWindowS);
        RateFit? best = Join(one, two, out ClockMethod method);
        if (best is not RateFit fit || fit.UPpm(_tickHz) >= ClockEstimate.UnknownPpm)
            return Nominal();
        _hostPerBoard = fit.Slope;
        RateFit place = two ?? fit; // answers place the board's time between two bounds, lines only before one
        double boardS = place.LastBoardS(_segment);
        return new ClockEstimate(
            ((1 / fit.Slope) - 1) * 1e6, fit.UPpm(_tickHz), _oneWay.Added + _twoWay.Added, method, fit.WindowS, fit.LineHolds,
            _startTicks + (long)Math.Round(boardS * _tickHz), _startNs + (long)Math.Round(place.HostS(_segment, boardS) * 1e9), _tickHz);
    }

    private static RateFit? Join(RateFit? one, RateFit? two, out ClockMethod method)
    {
        method = (one, two) switch
        {
            (null, null) => ClockMethod.Nominal,
            (not null, null) => ClockMethod.OneWay,
            (null, not null) => ClockMethod.TwoWay,
            _ => ClockMethod.Both,
        };
        if (one is not RateFit line || two is not RateFit answer)
            return one ?? two;
        double apart = Math.Abs(line.Slope - answer.Slope);
        double variance = (line.USlope * line.USlope) + (answer.USlope * answer.USlope);
        if (apart * apart <= 9 * variance)
            return line.JoinedWith(answer);

        // A delay that changed in the course of time moves the earliest arrivals; answers are bound on both sides.
        method = ClockMethod.TwoWay;
        return answer;
    }

    private ClockEstimate Nominal() => new(
        0, ClockEstimate.UnknownPpm, _oneWay.Added + _twoWay.Added, ClockMethod.Nominal, 0, true, _startTicks, _startNs, _tickHz);

    private ClockSample Sample(long ticks, long hostNs, double delayS)
    {
        if (!_hasStart)
        {
            _hasStart = true;
            _startTicks = ticks;
            _startNs = hostNs;
        }

        return new ClockSample((ticks - _startTicks) / _tickHz, (hostNs - _startNs) * 1e-9, delayS, _segment);
    }

    private void Add(SampleStore store, in ClockSample sample)
    {
        if (store.IsFull)
        {
            _hostPerBoard = EnvelopeFit.FirstSlope(store.Kept, _hostPerBoard);
            store.Halve(_hostPerBoard);
        }

        store.Add(sample, _hostPerBoard);
    }
}
