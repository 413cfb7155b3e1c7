namespace Acquire.Benchmarks;

/// <summary>A clock that a board which is played sets, so that the host's time goes as the board's however fast it is played.</summary>
internal sealed class PlayedClock : TimeProvider
{
    private const long StartNs = 1_000_000_000_000;
    private static readonly DateTimeOffset StartUtc = new(2026, 3, 1, 12, 0, 0, TimeSpan.Zero);
    private long _boardNs;
    private long _readNs;

    internal PlayedClock() => Read = new LastReadClock(this);

    /// <summary>The same clock as it stood when it was last asked: for whoever takes up what has been read. Time passes for it only
    /// with bytes that were read, so that a terminal's buffer full of data does not look like a silence.</summary>
    internal TimeProvider Read { get; }

    public override long TimestampFrequency => 1_000_000_000;

    public override long GetTimestamp()
    {
        long now = StartNs + Volatile.Read(ref _boardNs);
        Volatile.Write(ref _readNs, now);
        return now;
    }

    public override DateTimeOffset GetUtcNow() => StartUtc.AddTicks((GetTimestamp() - StartNs) / 100);

    internal void Set(long boardNs) => Volatile.Write(ref _boardNs, boardNs);

    private sealed class LastReadClock(PlayedClock clock) : TimeProvider
    {
        public override long TimestampFrequency => clock.TimestampFrequency;

        public override long GetTimestamp() => Math.Max(StartNs, Volatile.Read(ref clock._readNs));

        public override DateTimeOffset GetUtcNow() => StartUtc.AddTicks((GetTimestamp() - StartNs) / 100);
    }
}
