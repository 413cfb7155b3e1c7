using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>What to think of a new speed of a body that was left to itself.</summary>
internal enum HandKind : byte
{
    /// <summary>It is as fast as it may be, or that cannot be told yet.</summary>
    Free,

    /// <summary>Faster, but its pulses come no faster than they may: the tracker errs.</summary>
    Errs,

    /// <summary>Faster, but its pulses come as they did before: the tracker erred until now.</summary>
    Rethought,

    /// <summary>Faster, and its pulses too: a hand took it up.</summary>
    Hand,
}

/// <summary>Watches a body that spins freely for a hand: it does not speed up by itself.</summary>
internal sealed class HandWatch(double tickHz, PulseRate rate)
{
    private const double SpeedsUp = 1.2;
    private const int Steps = 2; // so many speeds in a row, of half a second and more each
    private int _faster;
    private double _rateBefore = double.NaN;

    /// <summary>What was seen of the body since it has been faster; null while it is not.</summary>
    public LockWatch? Since { get; private set; }

    /// <summary>Forgets what was seen.</summary>
    public void Reset() => (_faster, Since, _rateBefore) = (0, null, double.NaN);

    /// <summary>Looks at a new speed of the run's course.</summary>
    /// <param name="most">The speed that it had at most as foretold before, turns a second.</param>
    /// <param name="pulse">The last mark.</param>
    /// <param name="ordinal">Its ordinal.</param>
    /// <param name="tracker">The tracker.</param>
    /// <param name="run">The run.</param>
    public HandKind See(double most, in JudgedPulse pulse, long ordinal, MarkTracker tracker, OpenRun run)
    {
        int marks = tracker.MarkOffsets.Count;
        double now = rate.Over(Comeback.RateTurns * marks);
        if (run.CourseTurnsPerS < SpeedsUp * most)
        {
            Reset();
            _rateBefore = now;
            return HandKind.Free;
        }

        if (rate.HasBeenWithin(Comeback.RateTurns * marks, 0, most * marks / Comeback.RateSlack))
        {
            (_faster, Since) = (0, null);
            return HandKind.Errs;
        }

        // Flashes of a fallen body that rolls speed up, too, but seldom to a speed at which a body does not fall.
        bool mayRoll = run.SeemsStopped && run.CourseTurnsPerS < run.MayEndBelowTurnsPerS;
        if (mayRoll || tracker.Scatter > LockWatch.SteadyScatter)
        {
            (_faster, Since) = (0, null);
            return HandKind.Free;
        }

        Since ??= new LockWatch(tracker.LockNumber, ordinal, pulse, null, tickHz);
        if (++_faster < Steps)
            return HandKind.Free;
        return now < SpeedsUp * _rateBefore ? HandKind.Rethought : HandKind.Hand;
    }
}
