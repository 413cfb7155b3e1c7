using Acquire.Acquisition.Clock;
using Acquire.Recording;

namespace Acquire.Service.Capture;

/// <summary>Notes in the journal when the host's clock was set: on a computer without one of its own it starts at some time long past, until a time
/// service sets it. Durations do not depend on it; a run's start does.</summary>
/// <param name="time">The host's clocks.</param>
/// <param name="synchronisation">What the system says of its clock; for tests.</param>
internal sealed class ClockWatch(TimeProvider time, Func<string>? synchronisation = null)
{
    private const long LookNs = 10_000_000_000;
    private static readonly TimeSpan Step = TimeSpan.FromSeconds(0.5);
    private readonly Func<string> _synchronisation = synchronisation ?? HostSynchronisation.Read;
    private long _lookedNs;
    private UtcAnchor? _last;

    /// <summary>Looks, now and then.</summary>
    public void Look(long now, JournalWriter journal)
    {
        if (_last is null || now - _lookedNs > LookNs)
            LookNow(now, journal);
    }

    /// <summary>Looks, and appends wall-clock time where it was set since the last look.</summary>
    /// <param name="now">The host's monotonic clock, ns.</param>
    /// <param name="journal">The journal that is written.</param>
    public void LookNow(long now, JournalWriter journal)
    {
        _lookedNs = now;
        var anchor = new UtcAnchor(time.GetUtcNow(), now, _synchronisation());
        bool isFirst = _last is null;
        TimeSpan stepped = isFirst ? default : anchor.Utc - _last!.Utc.AddTicks((now - _last.HostNs) / 100);
        bool becameRight = anchor.HostClock == HostSynchronisation.Synchronised && _last?.HostClock != anchor.HostClock;
        _last = anchor;
        if (!isFirst && (becameRight || stepped.Duration() > Step))
            journal.TryAppend(now, anchor);
    }
}
