namespace Acquire.Acquisition.Simulation;

/// <summary>The board's tick counter as a function of true time, in closed form.</summary>
public sealed class BoardClock
{
    private readonly BoardSettings _board;

    /// <summary>Makes the clock of a board that is not restarted.</summary>
    public BoardClock(BoardSettings board)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(board.TickHz);
        ArgumentOutOfRangeException.ThrowIfLessThan(board.CounterBits, 16);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(board.CounterBits, 32);
        _board = board;
    }

    /// <summary>Seconds of the board's clock since the start of the scenario.</summary>
    public double BoardS(double timeS)
    {
        double warm = _board.DriftPpm * (timeS - (_board.DriftTimeS * (1 - Math.Exp(-timeS / _board.DriftTimeS))));
        double cycle = _board.CyclePpm * _board.CycleS / SpinUnits.Turn * (1 - Math.Cos(SpinUnits.Turn * timeS / _board.CycleS));
        return timeS + (1e-6 * ((_board.RatePpm * timeS) + warm + cycle));
    }

    /// <summary>The counter at a moment, not wrapped, ticks.</summary>
    public long Ticks(double timeS) => _board.CounterStart + (long)Math.Floor(BoardS(timeS) * _board.TickHz);

    /// <summary>Mean rate of the board's clock between two moments, ppm fast.</summary>
    public double MeanRatePpm(double fromS, double toS) => 1e6 * (((BoardS(toS) - BoardS(fromS)) / (toS - fromS)) - 1);
}
