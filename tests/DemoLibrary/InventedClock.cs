namespace Acquire.DemoLibrary;

/// <summary>A clock that stands at an invented moment: the bytes of a simulated board bear their own times.</summary>
internal sealed class InventedClock(DateTimeOffset utc) : TimeProvider
{
    public override long TimestampFrequency => 1_000_000_000;

    public override long GetTimestamp() => 0;

    public override DateTimeOffset GetUtcNow() => utc;
}
