using Acquire.Acquisition;
using Acquire.Acquisition.Simulation;
using Acquire.Motion;

namespace Acquire.Measure.Ensembles;

/// <summary>Ten minutes of pulses with no spin in them: lamp light, hands about the sensor, pulses at random.</summary>
internal static class LostNothing
{
    private const double TickHz = 2e6;
    private const double LengthS = 600;

    /// <summary>How many runs are taken from them.</summary>
    public static int Runs(int seed)
    {
        var noise = new SeededNoise(seed, 204);
        List<double> times = (seed % 3) switch
        {
            0 => Lamp(noise),
            1 => Hands(noise),
            _ => Random(noise),
        };
        var playback = new StopPlayback(TickHz, 1 + noise.Below(8));
        foreach (double time in times.Order())
        {
            var truth = new SimulatedPulse(time, 1e-3, PulseOrigin.Hand, -1);
            playback.Take(new BoardPulse(new Pulse((long)(time * TickHz), 2000, -1), truth));
        }

        playback.PassTime(LengthS + 1000);
        int runs = playback.Transitions.Count(t => t.Kind == RunTransitionKind.Ended);
        if (runs > 0)
            Console.Error.WriteLine($"{seed}: {runs} runs from {(seed % 3) switch { 0 => "lamp light", 1 => "hands", _ => "random pulses" }}");
        return runs;
    }

    // The mains wander by some parts in a thousand over minutes; flashes are missed, all or some.
    private static List<double> Lamp(SeededNoise noise)
    {
        double hz = noise.Chance(0.5) ? 100 : 120;
        double seen = noise.Uniform(0.2, 1);
        double wander = noise.Uniform(0, 1e-3);
        double period = noise.Uniform(60, 600);
        var times = new List<double>();
        for (double t = 0; t < LengthS; t += (1 + (wander * Math.Sin(2 * Math.PI * t / period))) / hz)
        {
            if (noise.Chance(seen))
                times.Add(t + (30e-6 * noise.Gaussian()));
        }

        return times;
    }

    private static List<double> Hands(SeededNoise noise)
    {
        var times = new List<double>();
        for (double t = noise.Uniform(1, 10); t < LengthS; t += noise.Exponential(8))
        {
            int flashes = 1 + noise.Below(12);
            double at = t;
            for (int i = 0; i < flashes; i++)
                times.Add(at += noise.Uniform(0.02, 0.5));
        }

        return times;
    }

    private static List<double> Random(SeededNoise noise)
    {
        double rate = Math.Exp(noise.Uniform(Math.Log(0.5), Math.Log(100)));
        var times = new List<double>();
        for (double t = noise.Exponential(1 / rate); t < LengthS; t += noise.Exponential(1 / rate))
            times.Add(t);
        return times;
    }
}
