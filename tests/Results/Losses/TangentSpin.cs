using Acquire.Conditioning;
using Acquire.Results.Losses;

namespace Acquire.Results.Tests.Losses;

/// <summary>A spin whose loss is a dry and a quadratic term, dω/dt = −a − b ω², which has a closed form: ω = √(a/b) tan(c − √(ab) t). Invented.</summary>
internal sealed class TangentSpin
{
    private const double TickHz = 1e9;
    private readonly double _root;
    private readonly double _rate;
    private readonly double _phase;
    private readonly double _b;

    public TangentSpin(double dry, double quadratic, double startRpm)
    {
        (Dry, Quadratic) = (dry, quadratic);
        _b = quadratic / (LossLaw.OmegaRefRadPerS * LossLaw.OmegaRefRadPerS);
        _root = Math.Sqrt(dry / _b);
        _rate = Math.Sqrt(dry * _b);
        _phase = Math.Atan(startRpm * Math.PI / 30 / _root);
    }

    /// <summary>Coefficients at 1000 rpm, rad/s².</summary>
    public double Dry { get; }

    public double Quadratic { get; }

    /// <summary>When the speed is passed.</summary>
    public double TimeS(double rpm) => (_phase - Math.Atan(rpm * Math.PI / 30 / _root)) / _rate;

    public double Rpm(double timeS) => _root * Math.Tan(_phase - (_rate * timeS)) * 30 / Math.PI;

    /// <summary>A mark a turn, each with white jitter, until a speed; the first at 0 s.</summary>
    public List<JudgedPulse> Marks(double toRpm, double jitterS, int seed, Func<double, double>? wobbleTurns = null)
    {
        var random = new Random(seed);
        var marks = new List<JudgedPulse>();
        double end = TimeS(toRpm);
        for (int turn = 0; ; turn++)
        {
            // θ = ln(cos(c − rate t)/cos c)/b
            double cos = Math.Cos(_phase) * Math.Exp(_b * 2 * Math.PI * turn);
            if (cos >= 1 || (_phase - Math.Acos(cos)) / _rate > end)
                return marks;
            double t = (_phase - Math.Acos(cos)) / _rate;
            double moved = wobbleTurns is null ? 0 : wobbleTurns(t) / (Rpm(t) / 60);
            double jitter = turn == 0 ? 0 : jitterS * Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
            marks.Add(new JudgedPulse((long)Math.Round((t + moved + jitter) * TickHz), 0, PulseKind.Mark, 0, turn));
        }
    }

    public static SpinMarks Of(List<JudgedPulse> marks) => SpinMarks.Of(marks, 1 / TickHz, 0, double.PositiveInfinity);
}
