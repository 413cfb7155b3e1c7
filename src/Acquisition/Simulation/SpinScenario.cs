namespace Acquire.Acquisition.Simulation;

/// <summary>Everything that a simulation is made from. The same scenario gives the same pulses and bytes, always.</summary>
public sealed record SpinScenario
{
    /// <summary>Seed of every random number in it.</summary>
    public int Seed { get; init; } = 1;

    /// <summary>The spins, one after the other.</summary>
    public IReadOnlyList<SpinPlan> Spins { get; init; } = [new()];

    /// <summary>Rest after the last spin, s.</summary>
    public double RestAfterS { get; init; } = 30;

    /// <summary>What the sensor sees and what it gets wrong.</summary>
    public SensorSettings Sensor { get; init; } = new();

    /// <summary>The board and its line.</summary>
    public BoardSettings Board { get; init; } = new();
}
