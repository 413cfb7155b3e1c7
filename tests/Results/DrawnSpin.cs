using Acquire.Motion;
using Acquire.Results.Comparison;

namespace Acquire.Results.Tests;

/// <summary>Invented spins as speed curves: dry contact, laminar and pressure drag, and a cover that takes a share off the drag above a speed.
/// The times between speeds are integrals, worked out here by themselves.</summary>
public sealed record DrawnSpin
{
    private const int Steps = 1500;
    public static readonly DateTimeOffset FirstDay = new(2027, 3, 14, 9, 0, 0, TimeSpan.Zero);

    /// <summary>Deceleration at 1000 rpm by dry contact, laminar and pressure drag, rpm/s.</summary>
    public (double Dry, double Laminar, double Pressure) Loss { get; init; } = (0.1, 0.5, 0.25);

    /// <summary>What the loss as a whole is off by.</summary>
    public double Scale { get; init; } = 1;

    /// <summary>The share that the cover takes off the drag.</summary>
    public double Cut { get; init; }

    /// <summary>Above this speed.</summary>
    public double AboveRpm { get; init; } = 1000;

    public double PeakRpm { get; init; } = 2200;

    public double EndRpm { get; init; } = 200;

    /// <summary>Step of the curve, s.</summary>
    public double GridS { get; init; } = 4;

    /// <summary>Time from one speed down to another, s.</summary>
    public double DecayS(double fromRpm, double toRpm)
    {
        double sum = 0;
        double width = Math.Log(fromRpm / toRpm) / Steps;
        for (int i = 0; i < Steps; i++)
        {
            double rpm = toRpm * Math.Exp(width * (i + 0.5));
            sum += width * rpm / Deceleration(rpm);
        }

        return sum;
    }

    /// <summary>The run of the curve, with those points lost that the function says.</summary>
    public TimedRun Run(string name = "run", double startH = 0, string cover = "", Func<double, bool>? isLost = null, string factor = "")
    {
        var speed = new List<SpeedPoint>();
        double width = Math.Log(PeakRpm / EndRpm) / Steps;
        (double time, double rpm) = (1, PeakRpm);
        for (int i = 0; i < Steps; i++)
        {
            double next = PeakRpm * Math.Exp(-width * (i + 1));
            double middle = Math.Sqrt(rpm * next);
            double step = (rpm - next) / Deceleration(middle);
            for (double t = Math.Ceiling(time / GridS) * GridS; t < time + step; t += GridS)
                speed.Add(Point(t, rpm * Math.Pow(next / rpm, (t - time) / step), isLost));
            (time, rpm) = (time + step, next);
        }

        var setup = new Dictionary<string, string> { ["top"] = "disc", ["cover"] = cover, ["clearance_mm"] = factor };
        return new TimedRun(name, FirstDay.AddHours(startH), setup, speed, 0, 0);
    }

    private static readonly SpeedPoint Lost = new(0, double.NaN, double.NaN, double.NaN, double.NaN);

    private SpeedPoint Point(double timeS, double rpm, Func<double, bool>? isLost) => isLost?.Invoke(rpm) == true
        ? Lost with { TimeS = timeS } : new SpeedPoint(timeS, rpm, 1e-3, Deceleration(rpm), 1e-5);

    private double Deceleration(double rpm)
    {
        double x = rpm / 1000;
        double drag = (Loss.Laminar * Math.Pow(x, 1.5)) + (Loss.Pressure * x * x);
        return Scale * (Loss.Dry + (drag * (1 - (Cut / (1 + Math.Pow(AboveRpm / rpm, 20))))));
    }
}
