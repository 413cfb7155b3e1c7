using Acquire.Acquisition.Simulation;

namespace Acquire.Benchmarks;

/// <summary>All that a board sends of an invented spin up to a number of pulses: eight marks that pass about 1000 times a second, now
/// and then one missed or a glint, a status line each second.</summary>
internal sealed class SpinBytes
{
    internal const int Marks = 8;
    internal const double TickHz = 2_000_000;
    private const int ChunkBytes = 4000;
    private readonly List<(int End, long Ns)> _chunks = [];

    internal SpinBytes(int pulses)
    {
        var spin = new SimulatedSpin(Scenario(pulses));
        var bytes = new MemoryStream(pulses * 24);
        int begun = 0;
        double lastS = 0;
        foreach ((double timeS, ReadOnlyMemory<byte> line) in spin.Sent())
        {
            if (bytes.Length + line.Length - begun > ChunkBytes)
                begun = EndChunk(bytes, lastS);
            bytes.Write(line.Span);
            lastS = timeS;
            if (line.Span[0] == 'P' && ++Pulses == pulses)
                break;
        }

        EndChunk(bytes, lastS);
        Bytes = bytes.ToArray();
        LastRpm = spin.Motion.SpeedRpm(lastS);
        SpanS = lastS;
    }

    internal byte[] Bytes { get; }

    internal int Pulses { get; }

    /// <summary>True speed at the last pulse.</summary>
    internal double LastRpm { get; }

    /// <summary>How long the spin took to the last pulse.</summary>
    internal double SpanS { get; }

    /// <summary>The bytes in pieces of whole lines: where each ends, and when its last byte had left the board.</summary>
    internal IReadOnlyList<(int End, long Ns)> Chunks => _chunks;

    private int EndChunk(MemoryStream bytes, double timeS)
    {
        _chunks.Add(((int)bytes.Length, (long)(timeS * 1e9)));
        return (int)bytes.Length;
    }

    private static SpinScenario Scenario(int pulses) => new()
    {
        Seed = 11,
        Spins =
        [
            new SpinPlan { RestBeforeS = 1, Pushes = [new Push(9000, 5)], ReferenceRpm = 7500, ToppleRpm = 6000 }
                .Lasting((pulses / 950.0) + 20),
        ],
        Sensor = new SensorSettings
        {
            MarkOffsetsTurns = SensorSettings.Evenly(Marks, 0.03, 11),
            MissProbability = 0.002,
            RandomGlintsPerTurn = 0.002,
            JitterS = 2e-6,
        },
        Board = new BoardSettings { TickHz = TickHz, Baud = 4_000_000 },
    };
}
