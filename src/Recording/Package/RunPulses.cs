using Acquire.Conditioning;

namespace Acquire.Recording;

/// <summary>The columns of a pulses.csv, one element a row.</summary>
public sealed class RunPulses
{
    internal RunPulses(int count)
    {
        TimeS = new double[count];
        Ticks = new long[count];
        Kind = new PulseKind[count];
        Mark = new short[count];
        Turns = new double[count];
        WidthS = new double[count];
    }

    /// <summary>Number of pulses.</summary>
    public int Count => TimeS.Length;

    /// <summary>Seconds from the first pulse of the run.</summary>
    public double[] TimeS { get; }

    /// <summary>The source's own counter.</summary>
    public long[] Ticks { get; }

    /// <summary>Mark or extra.</summary>
    public PulseKind[] Kind { get; }

    /// <summary>Which mark of the turn, from 0; −1 for an extra.</summary>
    public short[] Mark { get; }

    /// <summary>Turns since the first pulse of the run; NaN where the file has none.</summary>
    public double[] Turns { get; }

    /// <summary>Width in seconds; NaN where the source gave none.</summary>
    public double[] WidthS { get; }
}

/// <summary>The air at one moment. NaN where not known.</summary>
/// <param name="TimeS">Seconds from the first pulse of the run.</param>
/// <param name="TemperatureC">Temperature, °C.</param>
/// <param name="PressureHPa">Absolute pressure, hPa.</param>
/// <param name="HumidityPct">Relative humidity, percent.</param>
public readonly record struct EnvironmentPoint(double TimeS, double TemperatureC, double PressureHPa, double HumidityPct);
