using Acquire.Acquisition.Simulation;
using Acquire.Results.Braking;

namespace Acquire.Measure.Ensembles;

/// <summary>A simulated motor bench: a motor with friction, iron and fan of its own that turns bodies whose braking torque is known. Invented data.</summary>
/// <param name="noise">Draws what readings are off by.</param>
/// <param name="sd">Standard deviation of a reading, W; a share of the power where it is in proportion.</param>
/// <param name="inProportion">Whether readings scatter in proportion to the power.</param>
internal sealed class BrakeRig(SeededNoise noise, double sd, bool inProportion)
{
    private const double RadPerSPerRpm = Math.PI / 30;
    private readonly double _friction = noise.Uniform(1e-3, 4e-3);
    private readonly double _iron = noise.Uniform(0.5e-4, 2e-4);
    private readonly double _fan = noise.Uniform(0.5e-8, 3e-8);

    /// <summary>Power of the bare motor, W.</summary>
    public double BareW(double radPerS) => radPerS * (_friction + (_iron * Math.Sqrt(radPerS)) + (_fan * radPerS * radPerS));

    /// <summary>Standard deviation of a reading of this power, W.</summary>
    public double SdW(double powerW) => sd * (inProportion ? powerW : 1);

    /// <summary>Readings at even settings, each some turns off what was asked for.</summary>
    /// <param name="name">The configuration.</param>
    /// <param name="fromRpm">The lowest setting.</param>
    /// <param name="toRpm">The highest.</param>
    /// <param name="settings">How many.</param>
    /// <param name="repeats">Readings at each.</param>
    /// <param name="torqueNm">Braking torque at a speed in rad/s.</param>
    public BenchConfiguration Read(string name, double fromRpm, double toRpm, int settings, int repeats, Func<double, double> torqueNm)
    {
        var readings = new List<BenchReading>();
        for (int i = 0; i < settings * repeats; i++)
        {
            double rpm = fromRpm + ((toRpm - fromRpm) * (i / repeats) / (settings - 1)) + (1.5 * noise.Gaussian());
            double radPerS = rpm * RadPerSPerRpm;
            double powerW = BareW(radPerS) + (radPerS * torqueNm(radPerS));
            readings.Add(new BenchReading(i + 2, radPerS, powerW + (SdW(powerW) * noise.Gaussian())));
        }

        return new BenchConfiguration(name, readings);
    }
}
