using Acquire.Results.Losses;

namespace Acquire.Results.Forecasting;

/// <summary>When a spin will end, and what else follows from how it has slowed so far.</summary>
public sealed class SpinForecast
{
    private const double Rpm = Math.PI / 30;
    private readonly Course[] _courses;

    private SpinForecast(Course[] courses, EndSpeed end, LawEvidence evidence, double clockShare)
    {
        (_courses, End, Evidence, ClockShare) = (courses, end, evidence, clockShare);
        RemainingS = Over(c => c.TimeS(c.Now, c.End));
        EndRpm = Over(c => c.End / Rpm);
    }

    /// <summary>The speed at which it ends, as it was given.</summary>
    public EndSpeed End { get; }

    /// <summary>What the spin so far says.</summary>
    public LawEvidence Evidence { get; }

    /// <summary>Standard uncertainty of the clock's rate, as a share.</summary>
    public double ClockShare { get; }

    /// <summary>Time left, s.</summary>
    public Spread RemainingS { get; }

    /// <summary>Speed at the end, turns a minute.</summary>
    public Spread EndRpm { get; }

    /// <summary>Forecasts a spin.</summary>
    /// <param name="evidence">The spin so far.</param>
    /// <param name="end">The speed at which it will end.</param>
    /// <param name="clockShare">Standard uncertainty of the clock's rate, as a share.</param>
    public static SpinForecast Of(LawEvidence evidence, EndSpeed end, double clockShare)
    {
        double middle = Math.Sqrt(evidence.FirstRadPerS * Math.Min(end.Rpm * Rpm, evidence.FirstRadPerS));
        var points = new EvenPoints(2);
        double[] u = new double[2];
        Course[] courses = [.. LawDraws.Of(evidence, middle).All.Select(draw =>
        {
            points.Next(u);
            double clock = 1 + (clockShare * MathNet.Numerics.Distributions.Normal.InvCDF(0, 1, u[1]));

            // A clock whose seconds are too long by a share shows speeds too high by it.
            double end1 = end.Below(u[0], draw.LastRadPerS / Rpm / clock) * Rpm * clock;
            return new Course(draw.Law, draw.LastRadPerS, end1, clock);
        })];
        return new SpinForecast(courses, end, evidence, clockShare);
    }

    /// <summary>A figure over all courses that the spin may take.</summary>
    internal Spread Over(Func<Course, double> of)
    {
        double[] values = new double[_courses.Length];
        for (int i = 0; i < values.Length; i++)
            values[i] = of(_courses[i]);
        return Spread.Of(values);
    }
}

/// <summary>A course that the spin may take.</summary>
/// <param name="Law">Its law, by the clock of the source.</param>
/// <param name="Now">Speed at the end of the data, rad/s.</param>
/// <param name="End">Speed at the end of the spin, rad/s.</param>
/// <param name="Clock">True seconds in one of the clock's.</param>
internal readonly record struct Course(LossLaw Law, double Now, double End, double Clock)
{
    /// <summary>True time from one speed down to another; 0 where the second is not lower.</summary>
    public double TimeS(double fromRadPerS, double toRadPerS) => fromRadPerS > toRadPerS ? Clock * Law.TimeBetween(fromRadPerS, toRadPerS) : 0;
}
