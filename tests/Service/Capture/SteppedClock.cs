namespace Acquire.Service.Tests.Capture;

/// <summary>A clock whose time of day can be set while its monotonic part goes on.</summary>
internal sealed class SteppedClock(TimeProvider inner) : TimeProvider
{
    private long _stepTicks;

    /// <summary>What was set so far.</summary>
    public TimeSpan Step
    {
        get => new(Interlocked.Read(ref _stepTicks));
        set => Interlocked.Exchange(ref _stepTicks, value.Ticks);
    }

    public override long TimestampFrequency => inner.TimestampFrequency;

    public override long GetTimestamp() => inner.GetTimestamp();

    public override DateTimeOffset GetUtcNow() => inner.GetUtcNow() + Step;

    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period) =>
        inner.CreateTimer(callback, state, dueTime, period);
}
