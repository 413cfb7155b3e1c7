namespace Acquire.Conditioning;

/// <summary>What the tracker must know beforehand.</summary>
public sealed record TrackerSettings
{
    /// <summary>Nominal ticks a second of the source.</summary>
    public required double TickHz { get; init; }

    /// <summary>Marks on the body, 1 to 8.</summary>
    public int MarksPerTurn { get; init; } = 1;

    /// <summary>No body here spins faster, turns a second: what comes much quicker than a mark at that speed is bounce.</summary>
    public double FastestTurnsPerS { get; init; } = 200;

    /// <summary>Slower than this there is no lock, turns a second.</summary>
    public double SlowestTurnsPerS { get; init; } = 0.4;

    /// <summary>How long a prediction is kept for marks that ceased, seconds.</summary>
    public double RememberS { get; init; } = 1200;

    /// <summary>Whether all pulses are known to be of one run: what comes after a gap is then no body that a hand launches anew.</summary>
    public bool IsOneRun { get; init; }
}
