using Acquire.Acquisition;

namespace Acquire.Service.Capture;

/// <summary>A thread of the capture and for how long it has shown no sign of life.</summary>
/// <param name="Name">What it does.</param>
/// <param name="SilentS">Seconds since its count was last seen to move, of real time.</param>
/// <param name="LimitS">The longest silence that is nothing to worry about, seconds.</param>
internal sealed record ThreadLife(string Name, double SilentS, double LimitS)
{
    /// <summary>True where it must be taken for hung.</summary>
    public bool IsHung => SilentS > LimitS;
}

/// <summary>Sees by their counts whether the threads of a capture live. What is legitimately quiet, a port with nothing to say, a top at rest, no
/// port at all, moves the counts all the same. Not safe for use from several threads.</summary>
internal sealed class HealthThreads
{
    // The capture's thread comes round every 50 ms; the reader every second, or every 5 s while it looks for a port.
    private const double CaptureLimitS = 10;
    private const double ReaderLimitS = 20;

    // A slow card may take tens of seconds to sync while memory holds what comes, so that hurry would lose more than it saves.
    private const double JournalLimitS = 120;

    private readonly Watched[] _watched;
    private readonly Func<bool> _isEnding;
    private readonly TimeProvider _time;

    /// <summary>Begins to watch the threads of a capture.</summary>
    /// <param name="session">The capture.</param>
    /// <param name="source">Its source.</param>
    /// <param name="time">Real time.</param>
    public HealthThreads(CaptureSession session, IPulseSource source, TimeProvider time)
    {
        _time = time;
        _isEnding = () => session.IsEnding;
        _watched =
        [
            new("capture", () => session.Beat.Count, CaptureLimitS, time.GetTimestamp()),
            new("reader", () => source.ReaderBeat?.Count, ReaderLimitS, time.GetTimestamp()),
            new("journal", () => session.JournalBeat.Count, JournalLimitS, time.GetTimestamp()),
        ];
    }

    /// <summary>Looks at the counts; to be called more often than the shortest limit. While the capture ends no thread counts as silent:
    /// they stop one after the other.</summary>
    public IReadOnlyList<ThreadLife> Look()
    {
        bool ending = _isEnding();
        long now = _time.GetTimestamp();
        foreach (Watched thread in _watched)
        {
            long? count = thread.Count();
            if (count is null || ending || count != thread.Seen)
                thread.MovedStamp = now;
            thread.Seen = count;
        }

        return [.. _watched.Select(t => new ThreadLife(t.Name, _time.GetElapsedTime(t.MovedStamp, now).TotalSeconds, t.LimitS))];
    }

    private sealed class Watched(string name, Func<long?> count, double limitS, long begunStamp)
    {
        public string Name => name;

        public Func<long?> Count => count;

        public double LimitS => limitS;

        public long? Seen { get; set; }

        public long MovedStamp { get; set; } = begunStamp;
    }
}
