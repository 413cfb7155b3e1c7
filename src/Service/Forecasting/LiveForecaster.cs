using Acquire.Motion;
using Acquire.Results.Forecasting;
using Acquire.Results.Losses;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Forecasting;

/// <summary>Has the spin under way forecast again and again, from a thread of its own that yields to every other. It asks the capture for a copy of what it needs and never
/// waits for it while it works; faults are said once, and the capture goes on. After each forecast it rests so long that forecasts take a third of a hundredth of a processor
/// in the long run, but never longer than the spin has lasted: the early ones, which tell the most, come soon on a slow computer too.</summary>
internal sealed class LiveForecaster : IDisposable
{
    private const double LeastS = 20;
    private const double OftenS = 10;
    private const double RestOverWork = 300;
    private const int MostFaults = 3; // one after the other
    private static readonly TimeSpan Step = TimeSpan.FromMilliseconds(250);
    private static readonly TimeSpan Ending = TimeSpan.FromSeconds(1);
    private readonly CaptureSession _session;
    private readonly Func<SpinSoFar, CancellationToken, LiveForecast?> _of;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly CancellationTokenSource _stop = new();
    private readonly Thread _thread;
    private LiveForecast? _latest;
    private int _faults;
    private bool _isFaultSaid;

    /// <summary>Begins.</summary>
    /// <param name="session">The capture.</param>
    /// <param name="of">Forecasts a spin, until told to stop.</param>
    /// <param name="time">Real time.</param>
    /// <param name="logger">Where a fault is said.</param>
    public LiveForecaster(CaptureSession session, Func<SpinSoFar, CancellationToken, LiveForecast?> of, TimeProvider time, ILogger logger)
    {
        (_session, _of, _time, _logger) = (session, of, time, logger);
        _thread = new Thread(Work) { IsBackground = true, Name = "forecast", Priority = ThreadPriority.Lowest };
        _thread.Start();
    }

    /// <summary>The forecast, as it stands now; null where no spin is under way or too little of it was seen. For any thread.</summary>
    public LiveForecast? Latest(LiveState live) =>
        live.Phase is RunPhase.Spinning or RunPhase.Lost ? Volatile.Read(ref _latest)?.At(live.SinceReleaseS) : null;

    /// <summary>Ends it; what is being worked on is not waited for longer than a second.</summary>
    public void Dispose()
    {
        _stop.Cancel();
        if (_thread.Join(Ending))
            _stop.Dispose();
    }

    private void Work()
    {
        CancellationToken stop = _stop.Token;
        double restS = 0;
        long since = _time.GetTimestamp();
        SpinSoFar? last = null;
        while (!stop.WaitHandle.WaitOne(Step) && _faults < MostFaults)
        {
            LiveState live = _session.Live;
            if (live.Phase is not (RunPhase.Spinning or RunPhase.Lost))
                (_latest, restS) = (null, 0);
            if (live.Phase != RunPhase.Spinning || !(live.SinceReleaseS >= LeastS) || _time.GetElapsedTime(since).TotalSeconds < restS)
                continue;
            _session.AskSoFar();
            if (_session.SoFar is not { } spin || spin == last || spin.AtS < LeastS / 2)
                continue;
            last = spin;
            long began = _time.GetTimestamp();
            Forecast(spin, stop);
            since = _time.GetTimestamp();
            restS = Math.Max(OftenS, Math.Min(live.SinceReleaseS, RestOverWork * _time.GetElapsedTime(began, since).TotalSeconds));
        }
    }

    private void Forecast(SpinSoFar spin, CancellationToken stop)
    {
        try
        {
            Volatile.Write(ref _latest, _of(spin, stop));
            _faults = 0;
        }
        catch (Exception e)
        {
            // Ctrl-C on a terminal ends what works for the capture too, before the capture itself is told.
            if (stop.WaitHandle.WaitOne(Ending)) return;
            _faults++;
            if (!_isFaultSaid) _logger.LogWarning("No forecast can be made ({Problem}); the capture goes on without it", e.Message);
            _isFaultSaid = true;
        }
    }

    /// <summary>Forecasts.</summary>
    /// <param name="spin">The spin so far.</param>
    /// <param name="end">The speed at which it ends.</param>
    /// <param name="earlier">Gives what earlier spins of the set-up did from a speed on.</param>
    internal static LiveForecast? Of(SpinSoFar spin, EndSpeed end, Func<double, EarlierSpins?> earlier)
    {
        double fromS = LawEvidence.Beginning(0, spin.AtS);
        if (LawEvidence.OfLate(fromS, spin.AtS, null, (from, _) => LawEvidence.Of(SpinMarks.Of(spin.TimeS, spin.Turns, from))) is not { } evidence)
            return null;
        return LiveForecast.Of(SpinForecast.Of(evidence, end, spin.URate, 0, null, earlier(evidence.LastRpm)));
    }
}
