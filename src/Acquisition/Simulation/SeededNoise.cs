namespace Acquire.Acquisition.Simulation;

/// <summary>Random numbers that are the same for a seed on every machine and in every version of the runtime. Each fault draws
/// from a stream of its own, so that switching one on leaves the others as they were.</summary>
/// <remarks>Generator: SplitMix64 (Steele, Lea, Flood 2014).</remarks>
/// <param name="seed">The scenario's seed.</param>
/// <param name="stream">Which of the scenario's independent streams.</param>
public sealed class SeededNoise(int seed, int stream)
{
    private ulong _state = unchecked(((ulong)(uint)seed << 32) ^ ((ulong)(uint)stream * 0xD1B54A32D192ED03UL)); // wrap is the generator's
    private double _spare = double.NaN;

    /// <summary>The next 64 bits.</summary>
    public ulong NextBits()
    {
        unchecked // arithmetic modulo 2^64 is the generator's definition
        {
            ulong z = _state += 0x9E3779B97F4A7C15UL;
            z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9UL;
            z = (z ^ (z >> 27)) * 0x94D049BB133111EBUL;
            return z ^ (z >> 31);
        }
    }

    /// <summary>Uniform in [0, 1).</summary>
    public double Uniform() => (NextBits() >> 11) * (1.0 / (1UL << 53));

    /// <summary>Uniform in [<paramref name="low"/>, <paramref name="high"/>).</summary>
    public double Uniform(double low, double high) => low + ((high - low) * Uniform());

    /// <summary>An integer from 0 to <paramref name="count"/> − 1.</summary>
    public int Below(int count) => (int)(Uniform() * count);

    /// <summary>True with the given probability; draws one number whatever the probability.</summary>
    public bool Chance(double probability) => Uniform() < probability;

    /// <summary>Exponential with the given mean.</summary>
    public double Exponential(double mean) => -mean * Math.Log(1 - Uniform());

    /// <summary>Gaussian with mean 0 and standard deviation 1.</summary>
    public double Gaussian()
    {
        if (!double.IsNaN(_spare))
        {
            double spare = _spare;
            _spare = double.NaN;
            return spare;
        }

        double radius = Math.Sqrt(-2 * Math.Log(1 - Uniform()));
        (double sin, double cos) = Math.SinCos(2 * Math.PI * Uniform());
        _spare = radius * sin;
        return radius * cos;
    }
}
