using Acquire.Motion;
using Acquire.Recording;
using Acquire.Results.Forecasting;
using Acquire.Results.Losses;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Forecasting;

/// <summary>Forecasts the spin under way from a thread of its own that yields to every other. It asks the capture for a copy of what it needs and never waits for it
/// while it works; a fault is said once, and the capture goes on. After each forecast it rests so long that it takes a third of a hundredth of a processor.</summary>
internal sealed class LiveForecaster : IDisposable
{
    private const double LeastS = 20;
    private const double OftenS = 10;
    private const double RestOverWork = 300;
    private static readonly TimeSpan Step = TimeSpan.FromMilliseconds(250);
    private readonly CaptureSession _session;
    private readonly Func<SpinSoFar, LiveForecast?> _of;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly ManualResetEvent _stop = new(false);
    private readonly Thread _thread;
    private LiveForecast? _latest;
    private bool _faulted;

    /// <summary>Begins.</summary>
    /// <param name="session">The capture.</param>
    /// <param name="of">Forecasts a spin.</param>
    /// <param name="time">Real time.</param>
    /// <param name="logger">Where a fault is said.</param>
    public LiveForecaster(CaptureSession session, Func<SpinSoFar, LiveForecast?> of, TimeProvider time, ILogger logger)
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
        _stop.Set();
        if (_thread.Join(TimeSpan.FromSeconds(1)))
            _stop.Dispose();
    }

    private void Work()
    {
        double restS = 0;
        long since = _time.GetTimestamp();
        SpinSoFar? last = null;
        while (!_stop.WaitOne(Step))
        {
            try
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
                Volatile.Write(ref _latest, _of(spin));

                // What it took is given back at once: a capture is to stay small.
                GC.Collect(GC.MaxGeneration, GCCollectionMode.Aggressive, blocking: true, compacting: true);
                since = _time.GetTimestamp();
                restS = Math.Max(OftenS, RestOverWork * _time.GetElapsedTime(began, since).TotalSeconds);
            }
            catch (Exception e)
            {
                if (!_faulted) _logger.LogWarning(e, "No forecast can be made; the capture goes on without it");
                _faulted = true;
                Volatile.Write(ref _latest, null);
                return;
            }
        }
    }

    /// <summary>What forecasts the spins of a set-up, with the earlier spins of a library.</summary>
    public static Func<SpinSoFar, LiveForecast?> With(string library, RunSetup setup) => spin => Of(
        spin, EarlierRuns.Ends(library, setup.Top, DateTimeOffset.MaxValue), nowRpm => EarlierRuns.Spins(library, setup, DateTimeOffset.MaxValue, nowRpm));

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
