namespace Acquire.Acquisition.Simulation;

/// <summary>A scenario played out: the motion, the pulses and the bytes, and what is true of them. Every enumeration begins anew and
/// gives the same.</summary>
public sealed class SimulatedSpin
{
    private readonly double _startTurns;
    private readonly CrossingCursor _marks;

    /// <summary>Plays out a scenario.</summary>
    /// <exception cref="ArgumentException">A setting is out of its range.</exception>
    public SimulatedSpin(SpinScenario scenario)
    {
        Scenario = scenario;
        scenario.Sensor.Check();
        Motion = MotionBuilder.Build(scenario);
        Clock = new BoardClock(scenario.Board);
        _startTurns = new SeededNoise(scenario.Seed, 0).Uniform();
        _marks = new CrossingCursor(Motion, scenario.Sensor, scenario.Sensor.MarkOffsetsTurns, _startTurns);
    }

    /// <summary>What it was made from.</summary>
    public SpinScenario Scenario { get; }

    /// <summary>The true motion.</summary>
    public RotorMotion Motion { get; }

    /// <summary>The truth of each spin.</summary>
    public IReadOnlyList<SpinTruth> Spins => Motion.Spins;

    /// <summary>The board's clock.</summary>
    public BoardClock Clock { get; }

    /// <summary>Place of the body at time 0, turns, in [0, 1).</summary>
    public double StartTurns => _startTurns;

    /// <summary>The pulses of the sensor with their truth, in order.</summary>
    public IEnumerable<SimulatedPulse> Pulses() => new OpticalSensor(Motion, Scenario.Sensor, Scenario.Seed, _startTurns).Pulses();

    /// <summary>The pulses as a board that is never restarted counts them, every one delivered, with their truth.</summary>
    public IEnumerable<BoardPulse> BoardPulses()
    {
        short sequence = 0;
        foreach (SimulatedPulse pulse in Pulses())
        {
            long ticks = Clock.Ticks(pulse.TimeS);
            uint width = Scenario.Board.SendsWidth ? (uint)Math.Max(1, Clock.Ticks(pulse.TimeS + pulse.WidthS) - ticks) : 0;
            yield return new BoardPulse(new Pulse(ticks, width, sequence), pulse);
            sequence = (short)((sequence + 1) & 0xFF);
        }
    }

    /// <summary>All the bytes that the board sends where nobody asks it anything: the moment at which the last byte of a line has left,
    /// s of the scenario, and the bytes, valid until the next step.</summary>
    public IEnumerable<(double TimeS, ReadOnlyMemory<byte> Bytes)> Sent()
    {
        using var board = new SimulatedBoard(this);
        while (board.TryNext(double.PositiveInfinity, out double timeS, out ReadOnlyMemory<byte> bytes))
            yield return (timeS, bytes);
    }

    /// <summary>The true moment at which a mark passes, without wobble and jitter, s; NaN where it never does.</summary>
    /// <param name="mark">Its number as in <see cref="SimulatedPulse.Mark"/>.</param>
    public double MarkTimeS(long mark) => _marks.TrueTimeS(mark);
}
