namespace Acquire.Service.Capture;

/// <summary>A clock that starts at the true time and then runs faster or slower than another one; for replays and demos.</summary>
public sealed class ScaledTimeProvider : TimeProvider
{
    private const double LongestTimerMs = 4_294_967_294; // what a system timer takes
    private readonly TimeProvider _inner;
    private readonly double _scale;
    private readonly long _startStamp;
    private readonly DateTimeOffset _startUtc;

    /// <summary>Makes a clock.</summary>
    /// <param name="inner">The clock that it follows.</param>
    /// <param name="scale">Its seconds in one second of <paramref name="inner"/>; more than 0. At 100,000 its stamps last for a day
    /// of the inner clock.</param>
    public ScaledTimeProvider(TimeProvider inner, double scale)
    {
        ArgumentNullException.ThrowIfNull(inner);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(scale);
        if (!double.IsFinite(scale)) throw new ArgumentOutOfRangeException(nameof(scale), scale, "must be finite");
        _inner = inner;
        _scale = scale;
        _startStamp = inner.GetTimestamp();
        _startUtc = inner.GetUtcNow();
    }

    /// <inheritdoc/>
    public override long TimestampFrequency => _inner.TimestampFrequency;

    /// <inheritdoc/>
    public override TimeZoneInfo LocalTimeZone => _inner.LocalTimeZone;

    /// <inheritdoc/>
    public override long GetTimestamp() => _startStamp + (long)((_inner.GetTimestamp() - _startStamp) * _scale);

    /// <inheritdoc/>
    /// <remarks>Goes by the monotonic clock from the start on: a step of the host's clock is not multiplied.</remarks>
    public override DateTimeOffset GetUtcNow() => _startUtc + (_inner.GetElapsedTime(_startStamp) * _scale);

    /// <inheritdoc/>
    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period) =>
        new ScaledTimer(this, _inner.CreateTimer(callback, state, ToInner(dueTime), ToInner(period)));

    /// <summary>A time of this clock in the inner clock's; rounded up to milliseconds, so that no timer fires early and no period
    /// becomes nothing, which would mean never again.</summary>
    private TimeSpan ToInner(TimeSpan time)
    {
        if (time == Timeout.InfiniteTimeSpan || time <= TimeSpan.Zero) return time;
        return TimeSpan.FromMilliseconds(Math.Min(Math.Ceiling(time.TotalMilliseconds / _scale), LongestTimerMs));
    }

    private sealed class ScaledTimer(ScaledTimeProvider owner, ITimer inner) : ITimer
    {
        public bool Change(TimeSpan dueTime, TimeSpan period) => inner.Change(owner.ToInner(dueTime), owner.ToInner(period));

        public void Dispose() => inner.Dispose();

        public ValueTask DisposeAsync() => inner.DisposeAsync();
    }
}
