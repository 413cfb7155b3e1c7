using Acquire.Acquisition;
using Acquire.Motion;
using Acquire.Service.Display;

namespace Acquire.Service.Capture;

/// <summary>Puts together how a capture is. <see cref="Look"/> is for one thread, <see cref="Report"/> for any; neither waits for the capture.</summary>
internal sealed class CaptureHealth
{
    /// <summary>Less room than this on the library's disk is a problem: some hours of pulses.</summary>
    public const long LeastFreeBytes = 100_000_000;

    private readonly string _library;
    private readonly Func<LiveState> _live;
    private readonly HealthThreads _threads;
    private readonly Task<RecoveryReport> _recovery;
    private readonly Func<LoggedError?> _lastError;
    private readonly TimeProvider _time;
    private readonly TimeProvider _sourceTime;
    private readonly DateTimeOffset _startedAt;
    private Seen _seen;

    /// <summary>Begins to look.</summary>
    /// <param name="library">The library.</param>
    /// <param name="live">Gives the live state.</param>
    /// <param name="threads">The capture's threads.</param>
    /// <param name="recovery">The recovery of earlier captures.</param>
    /// <param name="lastError">Gives the last warning or error of the log.</param>
    /// <param name="time">Real time.</param>
    /// <param name="sourceTime">The time that blocks are stamped with.</param>
    public CaptureHealth(
        string library, Func<LiveState> live, HealthThreads threads, Task<RecoveryReport> recovery, Func<LoggedError?> lastError,
        TimeProvider time, TimeProvider sourceTime)
    {
        _library = library;
        _live = live;
        _threads = threads;
        _recovery = recovery;
        _lastError = lastError;
        _time = time;
        _sourceTime = sourceTime;
        _startedAt = time.GetUtcNow();
        _seen = new Seen(threads.Look(), live().Phase, _startedAt);
    }

    /// <summary>Looks at the threads and the phase.</summary>
    /// <returns>True where every thread of the capture lives.</returns>
    public bool Look()
    {
        RunPhase phase = _live().Phase;
        IReadOnlyList<ThreadLife> threads = _threads.Look();
        Volatile.Write(ref _seen, new Seen(threads, phase, phase == _seen.Phase ? _seen.PhaseSince : _time.GetUtcNow()));
        return !threads.Any(t => t.IsHung);
    }

    /// <summary>How the capture is, as of the last look.</summary>
    public CaptureStatus Report()
    {
        Seen seen = Volatile.Read(ref _seen);
        LiveState live = _live();
        long? free = FreeBytes();
        string[] problems = [.. Problems(seen, live, free)];
        return new CaptureStatus
        {
            Running = true,
            Well = problems.Length == 0,
            Problems = problems,
            Library = _library,
            Capture = Facts(seen, live, free),
        };
    }

    private static IEnumerable<string> Problems(Seen seen, LiveState live, long? free)
    {
        foreach (ThreadLife thread in seen.Threads.Where(t => t.IsHung))
            yield return $"the {thread.Name} thread has not moved for {Numbers.Clock(thread.SilentS)}";
        if (live.Trouble is { } trouble)
            yield return trouble;
        else if (!live.LinkUp)
            yield return $"no link to {live.Source}";
        if (free < LeastFreeBytes)
            yield return $"only {Numbers.Bytes(free.Value)} left on the library's disk: make room";
    }

    private CaptureFacts Facts(Seen seen, LiveState live, long? free) => new()
    {
        Software = ProgramVersion.Software,
        ProcessId = Environment.ProcessId,
        StartedAt = _startedAt,
        Phase = seen.Phase.ToString().ToLowerInvariant(),
        PhaseSince = seen.PhaseSince,
        Rpm = Known(live.Rpm),
        URpm = Known(live.URpm),
        SinceReleaseS = Known(live.SinceReleaseS),
        PeakRpm = Known(live.PeakRpm),
        Forecast = live.Forecast,
        LastPulseAgoS = AgoS(live.LastPulseNs),
        LastHeardAgoS = AgoS(live.LastHeardNs),
        Source = live.Source,
        LinkUp = live.LinkUp,
        Losses = CaptureLosses.Of(live),
        FinishedRuns = live.FinishedRuns,
        LastRun = live.LastRun,
        Plan = live.Plan,
        Air = [.. live.Air.Select(a => new AirFacts(a.Sensor, Known(a.Last.TemperatureC), Known(a.Last.PressureHPa), Known(a.Last.HumidityPct), AgoS(a.LastNs), a.LeftOut, a.Problem))],
        JournalBytes = live.JournalBytes,
        FreeBytes = free,
        Recovery = Recovery(),
        LastError = _lastError(),
        Threads = seen.Threads,
    };

    private RecoveryFacts Recovery()
    {
        if (!_recovery.IsCompleted)
            return new RecoveryFacts("underWay", 0, []);
        if (!_recovery.IsCompletedSuccessfully)
            return new RecoveryFacts("failed", 0, [_recovery.Exception?.GetBaseException().Message ?? "it was ended"]);
        return new RecoveryFacts("done", _recovery.Result.Runs.Count, _recovery.Result.Problems);
    }

    private long? FreeBytes()
    {
        try
        {
            return new DriveInfo(_library).AvailableFreeSpace;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException)
        {
            return null;
        }
    }

    private double? AgoS(long hostNs) => hostNs == 0 ? null : Math.Max(0, (_sourceTime.MonotonicNs() - hostNs) * 1e-9);

    private static double? Known(double value) => double.IsFinite(value) ? value : null;

    private sealed record Seen(IReadOnlyList<ThreadLife> Threads, RunPhase Phase, DateTimeOffset PhaseSince);
}
