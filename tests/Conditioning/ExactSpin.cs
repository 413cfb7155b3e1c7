using Acquire.Acquisition;

namespace Acquire.Conditioning.Tests;

/// <summary>A spin whose every mark is known in closed form: speeds up evenly, then slows exponentially. Invented data.</summary>
public sealed record ExactSpin
{
    public double TickHz { get; init; } = 2e6;
    public double RestS { get; init; } = 1;
    public double LaunchS { get; init; } = 0.4;
    public double PeakTurnsPerS { get; init; } = 30;
    public double TauS { get; init; } = 200;
    public double LastTurnsPerS { get; init; } = 3;
    public double[] MarkOffsets { get; init; } = [0];
    public double FirstMarkTurns { get; init; } = 0.3;

    public double ReleaseS => RestS + LaunchS;

    public double StopS => ReleaseS + (TauS * Math.Log(PeakTurnsPerS / LastTurnsPerS));

    private double LaunchTurns => 0.5 * PeakTurnsPerS * LaunchS;

    public double SpeedAt(double timeS) => timeS < RestS ? 0
        : timeS < ReleaseS ? PeakTurnsPerS * (timeS - RestS) / LaunchS
        : PeakTurnsPerS * Math.Exp(-(timeS - ReleaseS) / TauS);

    public double TimeAtTurns(double turns)
    {
        if (turns < LaunchTurns)
            return RestS + Math.Sqrt(2 * turns * LaunchS / PeakTurnsPerS);
        double share = (turns - LaunchTurns) / (PeakTurnsPerS * TauS);
        return ReleaseS - (TauS * double.LogP1(-share));
    }

    public double TurnsAtStop => LaunchTurns + (PeakTurnsPerS * TauS * (1 - (LastTurnsPerS / PeakTurnsPerS)));

    /// <summary>Times of all marks and which mark of the turn each is.</summary>
    public IEnumerable<(double TimeS, int Mark, double Turns)> Marks()
    {
        for (int turn = 0; ; turn++)
        {
            for (int mark = 0; mark < MarkOffsets.Length; mark++)
            {
                double turns = FirstMarkTurns + turn + MarkOffsets[mark];
                if (turns > TurnsAtStop)
                    yield break;
                yield return (TimeAtTurns(turns), mark, turns - FirstMarkTurns);
            }
        }
    }

    public Pulse PulseAt(double timeS, double widthS = 0) =>
        new((long)Math.Round(timeS * TickHz), (uint)Math.Round(widthS * TickHz), -1);

    /// <summary>Normal deviates by Box and Muller (1958).</summary>
    public static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
