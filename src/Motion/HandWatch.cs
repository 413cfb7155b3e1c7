using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>Watches a body that spins freely for a hand: it does not speed up by itself.</summary>
internal sealed class HandWatch(double tickHz, PulseRate rate)
{
    private const double SpeedsUp = 1.2;
    private const int Steps = 2; // so many speeds in a row, of half a second and more each
    private int _faster;
    private LockWatch? _since;

    /// <summary>Forgets what was seen.</summary>
    public void Reset() => (_faster, _since) = (0, null);

    /// <summary>Looks at a new speed of the run's course. Where the body has been faster than it can be by itself for long enough, what was
    /// seen of it since; else null.</summary>
    /// <param name="most">The speed that it had at most as foretold before, turns a second.</param>
    /// <param name="pulse">The last mark.</param>
    /// <param name="ordinal">Its ordinal.</param>
    /// <param name="tracker">The tracker.</param>
    /// <param name="run">The run.</param>
    public LockWatch? See(double most, in JudgedPulse pulse, long ordinal, MarkTracker tracker, OpenRun run)
    {
        int marks = tracker.MarkOffsets.Count;
        bool goesOn = rate.HasBeenWithin(Comeback.RateTurns * marks, 0, most * marks / Comeback.RateSlack);
        if (goesOn || run.CourseTurnsPerS < SpeedsUp * most || tracker.Scatter > LockWatch.SteadyScatter)
        {
            Reset();
            return null;
        }

        _since ??= new LockWatch(tracker.LockNumber, ordinal, pulse, null, tickHz);
        return ++_faster < Steps ? null : _since;
    }
}
