namespace Acquire.Faults;

/// <summary>An invented spin as times of pulses: a launch of half a second, then a slow decay; several marks a turn.</summary>
/// <param name="Marks">Marks on the body.</param>
/// <param name="PeakPulsesPerS">Pulses a second at release.</param>
/// <param name="DecayS">Time constant of the decay, s.</param>
internal sealed record SpinText(int Marks = 8, double PeakPulsesPerS = 1100, double DecayS = 30)
{
    private const double LaunchS = 0.5;
    private const double SlowShare = 0.2;

    /// <summary>When the next pulse comes after one at <paramref name="s"/> seconds from the start of the launch.</summary>
    public double After(double s) => s + (1 / PulsesPerS(s));

    private double PulsesPerS(double s) => s < LaunchS
        ? PeakPulsesPerS * (SlowShare + ((1 - SlowShare) * s / LaunchS))
        : PeakPulsesPerS * Math.Exp(-(s - LaunchS) / DecayS);
}
