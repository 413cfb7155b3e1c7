namespace Acquire.Acquisition.Simulation;

/// <summary>The board that counts ticks and sends lines.</summary>
public sealed record BoardSettings
{
    /// <summary>Nominal ticks a second.</summary>
    public double TickHz { get; init; } = 2_000_000;

    /// <summary>Bits of the tick counter, 16 to 32, as the board says of itself; the counter wraps there.</summary>
    public int CounterBits { get; init; } = 32;

    /// <summary>The counter at the start of the scenario, ticks.</summary>
    public long CounterStart { get; init; }

    /// <summary>How fast the board's clock runs at the start, parts per million of its nominal rate.</summary>
    public double RatePpm { get; init; }

    /// <summary>Change of rate as the board warms, ppm, reached exponentially.</summary>
    public double DriftPpm { get; init; }

    /// <summary>Time constant of that change, s.</summary>
    public double DriftTimeS { get; init; } = 900;

    /// <summary>Amplitude of a slow cycle of the rate (a room's heating), ppm.</summary>
    public double CyclePpm { get; init; }

    /// <summary>Period of that cycle, s.</summary>
    public double CycleS { get; init; } = 2400;

    /// <summary>Board name, [a-z0-9-]{1,16}.</summary>
    public string Name { get; init; } = "simulated";

    /// <summary>Bits a second on the line, ten of them a byte.</summary>
    public double Baud { get; init; } = 115200;

    /// <summary>Whether pulses carry a width.</summary>
    public bool SendsWidth { get; init; } = true;

    /// <summary>Whether the board answers <c>T</c>.</summary>
    public bool AnswersTime { get; init; } = true;

    /// <summary>Pulses that the board can hold until the line is free; more are dropped and counted.</summary>
    public int QueuePulses { get; init; } = 64;

    /// <summary>Probability that a byte arrives with a bit wrong.</summary>
    public double ByteErrorProbability { get; init; }

    /// <summary>Probability that a line is lost whole.</summary>
    public double LineLossProbability { get; init; }

    /// <summary>Moments at which the board starts anew, s of the scenario, in order.</summary>
    public IReadOnlyList<double> RestartsS { get; init; } = [];

    /// <summary>How long a board that starts anew sees and sends nothing, s.</summary>
    public double RestartS { get; init; } = 0.3;
}
