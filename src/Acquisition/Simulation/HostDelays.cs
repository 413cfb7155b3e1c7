namespace Acquire.Acquisition.Simulation;

/// <summary>How long bytes take between board and host, each way: a fixed part and an exponential part with a limit.</summary>
public sealed record HostDelays
{
    /// <summary>Fixed delay towards the host, s.</summary>
    public double ToHostBaseS { get; init; } = 0.0005;

    /// <summary>Mean of the random delay towards the host, s.</summary>
    public double ToHostMeanS { get; init; } = 0.001;

    /// <summary>Fixed delay towards the board, s.</summary>
    public double ToBoardBaseS { get; init; } = 0.0003;

    /// <summary>Mean of the random delay towards the board, s.</summary>
    public double ToBoardMeanS { get; init; } = 0.0005;

    /// <summary>Largest random delay either way, s.</summary>
    public double LimitS { get; init; } = 0.016;

    /// <summary>Probability, at each line, that the host stalls; later lines wait behind it.</summary>
    public double StallProbability { get; init; }

    /// <summary>Mean length of a stall, s (exponential).</summary>
    public double StallS { get; init; } = 0.5;

    /// <summary>The host reads no more often than this, s; what came in between is one block. 0: a block for each line.</summary>
    public double ReadEveryS { get; init; }

    /// <summary>In synthetic time, the source asks the board for its time this often, s; 0: never.</summary>
    public double AskEveryS { get; init; }

    internal double ToHostS(SeededNoise noise)
    {
        double delayS = ToHostBaseS + Math.Min(LimitS, noise.Exponential(ToHostMeanS));
        bool stalls = noise.Chance(StallProbability);
        return stalls ? delayS + noise.Exponential(StallS) : delayS;
    }

    internal double ToBoardS(SeededNoise noise) => ToBoardBaseS + Math.Min(LimitS, noise.Exponential(ToBoardMeanS));
}
