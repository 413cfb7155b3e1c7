using System.Text.Json;
using Acquire.Acquisition;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Display;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Page;

/// <summary>A live document as it goes out.</summary>
/// <param name="Number">Its number.</param>
/// <param name="Document">The document.</param>
/// <param name="Json">The same as JSON.</param>
internal sealed record LiveFrame(long Number, LiveDocument Document, string Json);

/// <summary>The curve so far, for whoever asks; immutable.</summary>
internal sealed record CurveSoFar(int RunNumber, DateTimeOffset? StartedAt, double? ReleaseS, double StepS, IReadOnlyList<double> TimesS, IReadOnlyList<double?> Rpm);

/// <summary>Looks at the capture ten times a second on a thread of its own, and tells all pages: the newest state, the curve so far, and what happened.
/// It reads immutable states only; a fault here costs a look, never a pulse.</summary>
internal sealed class LiveHub : IDisposable
{
    /// <summary>Time between two looks, ms; no page is told more often.</summary>
    public const int LookEveryMs = 100;

    private const int LooksBetweenRepeats = 50; // a frame at least each five seconds, whether something changed or not
    private const int LooksBetweenDisks = 50;
    private readonly PageCapture? _capture;
    private readonly string _library;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly SpinCurve _curve;
    private readonly ManualResetEvent _stop = new(false);
    private readonly Thread _thread;
    private LiveState? _before;
    private LiveFrame _latest;
    private CurveSoFar _soFar;
    private TaskCompletionSource _news = Fresh();
    private DateTimeOffset _phaseSince;
    private DateTimeOffset? _curveAt;
    private long _curveNs;
    private int _curveTold;
    private double _releaseS = double.NaN;
    private long? _freeBytes;
    private int _looks;
    private bool _faulted;

    /// <summary>Begins to look.</summary>
    public LiveHub(PageCapture? capture, string library, TimeProvider time, ILogger logger)
    {
        (_capture, _library, _time, _logger) = (capture, library, time, logger);
        _curve = new SpinCurve(SpinCurve.UsualStepS * Math.Max(1, capture?.Options.TimeScale ?? 1));
        _phaseSince = time.GetUtcNow();
        _latest = Frame(LiveDocument.Off(library), 1);
        _soFar = new CurveSoFar(0, null, null, _curve.StepS, [], []);
        _thread = new Thread(Work) { IsBackground = true, Name = "page" };
        _thread.Start();
    }

    /// <summary>What pages that were away are told of later.</summary>
    public EventRing Kept { get; } = new();

    /// <summary>The newest state; safe from any thread.</summary>
    public LiveFrame Latest => Volatile.Read(ref _latest);

    /// <summary>The curve so far; safe from any thread.</summary>
    public CurveSoFar SoFar => Volatile.Read(ref _soFar);

    /// <summary>Ends when there is something new: of the last look at the latest, so that nothing is missed by who asks first and looks then.</summary>
    public Task News => Volatile.Read(ref _news).Task;

    /// <summary>Tells all pages of something that is kept for those away.</summary>
    public void Tell<T>(string kind, T what)
    {
        Kept.Add(kind, JsonSerializer.Serialize(what, PageJson.Options));
        Interlocked.Exchange(ref _news, Fresh()).TrySetResult();
    }

    /// <summary>Ends.</summary>
    public void Dispose()
    {
        _stop.Set();
        _thread.Join();
        _stop.Dispose();
    }

    private static TaskCompletionSource Fresh() => new(TaskCreationOptions.RunContinuationsAsynchronously);

    private LiveFrame Frame(LiveDocument document, long number)
    {
        LiveDocument at = document with { At = _time.GetUtcNow(), PhaseSince = _phaseSince };
        return new LiveFrame(number, document, JsonSerializer.Serialize(at, PageJson.Options));
    }

    private void Work()
    {
        do
        {
            try
            {
                Look();
            }
            catch (Exception e)
            {
                if (!_faulted) _logger.LogWarning(e, "The page could not look at the capture, which goes on");
                _faulted = true;
            }
        }
        while (!_stop.WaitOne(LookEveryMs));
    }

    private void Look()
    {
        if (_looks++ % LooksBetweenDisks == 0) _freeBytes = FreeBytes();
        LiveDocument now = LiveDocument.Off(_library);
        if (_capture is not null)
        {
            LiveState live = _capture.Live();
            long sourceNs = _capture.SourceTime.MonotonicNs();
            now = LiveDocument.Of(live, sourceNs, _library);
            if (_before is not null && live.Phase != _before.Phase) _phaseSince = _time.GetUtcNow();
            Draw(live, sourceNs);
            if (_before is not null) Note(live, _before);
            _before = live;
        }

        now = now with { FreeBytes = _freeBytes };
        LiveFrame latest = Latest;
        if (now == latest.Document && _looks % LooksBetweenRepeats != 0) return;
        Volatile.Write(ref _latest, Frame(now, latest.Number + 1));
        Interlocked.Exchange(ref _news, Fresh()).TrySetResult();
    }

    private void Draw(LiveState live, long sourceNs)
    {
        bool spins = live.Phase is RunPhase.Launching or RunPhase.Spinning or RunPhase.Lost;
        bool begins = spins && (live.RunsBegun != _before?.RunsBegun || _curveAt is null);
        if (begins)
        {
            _curve.Clear();
            (_curveNs, _curveAt, _curveTold, _releaseS) = (sourceNs, _time.GetUtcNow(), 0, double.NaN);
        }

        if (!spins) return;
        double timeS = (sourceNs - _curveNs) * 1e-9;
        bool thinned = _curve.Add(timeS, live.Phase == RunPhase.Lost ? double.NaN : live.Rpm);
        if (double.IsFinite(live.SinceReleaseS)) _releaseS = timeS - live.SinceReleaseS;
        if (thinned || begins) _curveTold = _curve.Count;
        if (_curve.Count > _curveTold || thinned || begins) Publish(live.RunsBegun);
        if (thinned || begins) Tell("curve-reset", new CurveReset(live.RunsBegun));
        for (; _curveTold < _curve.Count; _curveTold++) Tell("curve", new CurvePoint(live.RunsBegun, MiddleS(_curveTold), Known(_curve.Rpm[_curveTold])));
    }

    private double MiddleS(int point) => (point + 0.5) * _curve.StepS;

    private void Publish(int runNumber) => Volatile.Write(ref _soFar, new CurveSoFar(
        runNumber, _curveAt, Known(_releaseS), _curve.StepS, [.. Enumerable.Range(0, _curve.Count).Select(MiddleS)], [.. _curve.Rpm.Select(Known)]));

    private void Note(LiveState now, LiveState before)
    {
        string top = now.RunSetup?.Top is { Length: > 0 } named ? named : "the body";
        bool spun = before.Phase is RunPhase.Launching or RunPhase.Spinning or RunPhase.Lost;
        bool spins = now.Phase is RunPhase.Launching or RunPhase.Spinning or RunPhase.Lost;
        bool dismissed = now.RunsDismissed > before.RunsDismissed;
        bool another = now.RunsBegun > before.RunsBegun;
        if (dismissed) Say("dismissed", before.RunsBegun, "A launch came to nothing: too few turns for a run.");
        else if (spun && (!spins || another)) Say("ended", before.RunsBegun, $"The spin of {top} is over; it is being saved.");
        if (another) Say("began", now.RunsBegun, $"A hand launches {top}.");
        bool was = spun && !another;
        if (now.Phase == RunPhase.Spinning && was && before.Phase == RunPhase.Launching) Say("released", now.RunsBegun, $"The hand has let go of {top}.");
        if (now.Phase == RunPhase.Spinning && was && before.Phase == RunPhase.Lost) Say("back", now.RunsBegun, "The marks are back; the run goes on.");
        if (now.Phase == RunPhase.Lost && before.Phase != RunPhase.Lost) Say("lost", now.RunsBegun, "Marks ceased; they are waited for.");
        if (now.RunsNotSaved > before.RunsNotSaved) Say("notSaved", before.RunsBegun, now.Trouble ?? "A run could not be saved; what was seen is kept.");
        if (now.FinishedRuns > before.FinishedRuns) Saved(now, before);
    }

    private void Saved(LiveState now, LiveState before)
    {
        if (now.LastRun is not { } folder) return;
        string name = Path.GetFileName(Path.TrimEndingDirectorySeparator(folder));
        double spinTimeS = double.NaN;
        try
        {
            spinTimeS = RunPackageReader.ReadDescriptor(folder).Result.SpinTimeS;
        }
        catch (Exception e) when (e is RunFormatException or IOException or UnauthorizedAccessException)
        {
            // The library says what is wrong with it.
        }

        Tell("notice", new Notice("saved", _time.GetUtcNow(), before.RunsBegun, name, Known(spinTimeS), $"Saved as {name}: it spun for {Numbers.ClockTenths(spinTimeS)}."));
    }

    private void Say(string kind, int runNumber, string text) => Tell("notice", new Notice(kind, _time.GetUtcNow(), runNumber, null, null, text));

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

    private static double? Known(double value) => double.IsFinite(value) ? value : null;
}
