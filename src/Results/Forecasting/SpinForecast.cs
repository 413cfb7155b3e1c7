using Acquire.Results.Losses;

namespace Acquire.Results.Forecasting;

/// <summary>When a spin will end, and what else follows from how it has slowed so far.</summary>
public sealed class SpinForecast
{
    private const double Rpm = Math.PI / 30;
    private const double UnseenShare = 0.0005; // what the time for each halving of a speed not seen yet is off any law of powers, at the least (assumed)
    private const double ChangingShare = 0.005; // the same of a spin whose law has changed already (assumed)
    private readonly Course[] _courses;

    private SpinForecast(Course[] courses, EndSpeed end, LawEvidence evidence, double sinceS, EarlierUse use)
    {
        (_courses, End, Evidence, Use) = (courses, end, evidence, use);
        RemainingS = Over(c => Math.Max(0, c.TimeS(c.Now, c.End) - sinceS));
        EndRpm = Over(c => c.End / Rpm / c.Clock);
    }

    /// <summary>The speed at which it ends, as it was given.</summary>
    public EndSpeed End { get; }

    /// <summary>What the spin so far says.</summary>
    public LawEvidence Evidence { get; }

    /// <summary>What earlier spins of the set-up did to it.</summary>
    public EarlierUse Use { get; }

    /// <summary>Time left, s.</summary>
    public Spread RemainingS { get; }

    /// <summary>Speed at the end, turns a minute.</summary>
    public Spread EndRpm { get; }

    /// <summary>Forecasts a spin.</summary>
    /// <param name="evidence">The spin so far.</param>
    /// <param name="end">The speed at which it will end.</param>
    /// <param name="clockShare">Standard uncertainty of the clock's rate, as a share.</param>
    /// <param name="sinceS">Seconds that have passed since the data ended.</param>
    /// <param name="seen">What of the spin was seen, cell by cell.</param>
    /// <param name="earlier">What earlier spins of the set-up did from this speed on; null where there are none.</param>
    public static SpinForecast Of(LawEvidence evidence, EndSpeed end, double clockShare, double sinceS = 0, IReadOnlyList<SeenCell>? seen = null, EarlierSpins? earlier = null)
    {
        ArgumentNullException.ThrowIfNull(evidence);
        ArgumentNullException.ThrowIfNull(end);
        double middle = Math.Sqrt(evidence.FirstRadPerS * Math.Min(end.Rpm * Rpm, evidence.FirstRadPerS));
        IReadOnlyList<LawDraws.Draw> draws = LawDraws.Of(evidence, middle).All;
        (draws, double[] times, EarlierUse use) = Weighed(draws, earlier, evidence.LocalFall, (evidence.LocalFall is null ? UnseenShare : ChangingShare) * Math.Max(0, Math.Log2(evidence.LastRpm / end.Rpm)));
        var points = new EvenPoints(2);
        double[] u = new double[2];
        Course[] courses = [.. draws.Select((draw, i) =>
        {
            points.Next(u);

            // A clock whose seconds are too long by a share shows speeds too high by it.
            double clock = 1 + (clockShare * MathNet.Numerics.Distributions.Normal.InvCDF(0, 1, u[1]));
            double last = end.Basis == EndBasis.Seen ? end.Rpm : end.Below(u[0], draw.LastRadPerS / Rpm / clock) * clock;
            LossCell[] cells = [.. (seen ?? []).Select(c => Cell(draw.Law, c)), new LossCell(draw.LastRadPerS, 0, times[i])];
            return new Course(draw.Law, draw.LastRadPerS, last * Rpm, clock, cells);
        })];
        return new SpinForecast(courses, end, evidence, sinceS, use);
    }

    // Earlier spins weigh the laws, or say how long each takes from here on.
    private static (IReadOnlyList<LawDraws.Draw> Draws, double[] Times, EarlierUse Use) Weighed(IReadOnlyList<LawDraws.Draw> draws, EarlierSpins? earlier, double? fall, double unseen)
    {
        double[] times = new double[draws.Count];
        Scatter(times, (_, u) => Math.Exp(unseen * MathNet.Numerics.Distributions.Normal.InvCDF(0, 1, u)));
        if (earlier is null)
            return (draws, times, EarlierUse.None);
        double[] logs = [.. draws.Select(d => Math.Log(d.Law.TimeBetween(d.LastRadPerS, Math.Min(d.LastRadPerS * 0.999, earlier.ToRpm * Rpm)) * (fall ?? d.Law.Deceleration(d.LastRadPerS))))];
        EarlierUse use = earlier.Beside(logs);
        if (use == EarlierUse.Agree)
        {
            double[] weights = [.. logs.Select(earlier.Density)];
            return ([.. LawDraws.Evenly(weights, weights.Sum()).Select(i => draws[i])], times, use);
        }

        Scatter(times, (i, u) => Math.Exp(logs[i] - earlier.Quantile(u)));
        return (draws, times, use);
    }

    private static void Scatter(double[] values, Func<int, double, double> of)
    {
        var points = new EvenPoints(1);
        double[] u = new double[1];
        for (int i = 0; i < values.Length; i++)
        {
            points.Next(u);
            values[i] = of(i, u[0]);
        }
    }

    private static LossCell Cell(LossLaw law, SeenCell seen)
    {
        (double from, double to) = (seen.Band.FromRpm * Rpm, seen.Band.ToRpm * Rpm);
        return new LossCell(from, to, law.TimeBetween(from, to) / seen.Seconds);
    }

    /// <summary>Speed now, turns a minute.</summary>
    public double NowRpm => Over(c => c.Now / Rpm / c.Clock).Median;

    /// <summary>Time from the end of the data until a speed is passed, s, were the body to stand so long; 0 for one that is passed already.</summary>
    /// <param name="rpm">The speed, turns a minute, above 0.</param>
    public Spread UntilS(double rpm) => Over(c => c.TimeS(c.Now, rpm * Rpm * c.Clock));

    /// <summary>Speed a while from now, turns a minute; 0 once the body lies.</summary>
    /// <param name="timesS">Moments from now on, s, rising.</param>
    public IReadOnlyList<Spread> SpeedRpm(IReadOnlyList<double> timesS)
    {
        double[][] each = [.. _courses.Select(c => c.SpeedRadPerS(timesS))];
        return [.. timesS.Select((_, i) => Spread.Of(each.Select(e => e[i] / Rpm)))];
    }

    /// <summary>Time of a whole spin by this law, s.</summary>
    /// <param name="startRpm">Its first speed, turns a minute.</param>
    /// <param name="change">What is otherwise in it.</param>
    public Spread WholeS(double startRpm, SpinChange change) => Spread.Of(Wholes(startRpm, change));

    /// <summary>By how much longer one spin lasts than another, s.</summary>
    /// <param name="startRpm">First speed of the one.</param>
    /// <param name="change">What is otherwise in it.</param>
    /// <param name="otherRpm">First speed of the other, in which nothing is.</param>
    public Spread GainS(double startRpm, SpinChange change, double otherRpm) =>
        Spread.Of(Wholes(startRpm, change).Zip(Wholes(otherRpm, SpinChange.None), (one, other) => one - other));

    /// <summary>Where the time of a spin goes.</summary>
    /// <param name="startRpm">Its first speed, turns a minute.</param>
    public IReadOnlyList<BandShare> Bands(double startRpm)
    {
        double lowest = Math.Min(EndRpm.Median, startRpm / 1.01);
        IReadOnlyList<SpeedBand> bands = SpeedBands.Between(startRpm, lowest);
        return [.. bands.Select((band, i) =>
        {
            double from = band.FromRpm * Rpm;
            double Until(Course c) => i == bands.Count - 1 ? c.End : Math.Max(c.End, band.ToRpm * Rpm);
            double middle = 0.5 * (band.FromRpm + band.ToRpm) * Rpm;
            double Share(Func<double, bool> of) => _courses.Average(c => c.Law.Terms.Where(t => of(t.Exponent)).Sum(t => t.Coefficient * LossLaw.Power(middle / LossLaw.OmegaRefRadPerS, t.Exponent)) / c.Law.Deceleration(middle));
            return new BandShare(band, Over(c => c.TimeS(from, Until(c))), Share(p => p < 1), Share(p => p == 1), Share(p => p > 1));
        })];
    }

    private IEnumerable<double> Wholes(double startRpm, SpinChange change)
    {
        var points = new EvenPoints(1);
        double[] u = new double[1];
        foreach (Course c in _courses)
        {
            points.Next(u);
            double start = startRpm * Rpm * c.Clock;
            double end = change.End is { } other ? other.Below(u[0], startRpm) * Rpm * c.Clock : Math.Min(start, c.End * change.EndTimes);
            yield return c.TimeS(start, end, change.Of(c.Law), change.Cells);
        }
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

/// <summary>What a band of speed has of a spin.</summary>
/// <param name="Band">The band.</param>
/// <param name="TimeS">Time in it, s.</param>
/// <param name="Dry">Share of dry contact in its loss, 0 to 1, as likely as not.</param>
/// <param name="Viscous">Share of what goes as the speed.</param>
/// <param name="Air">Share of what goes as higher powers.</param>
public sealed record BandShare(SpeedBand Band, Spread TimeS, double Dry, double Viscous, double Air)
{
    /// <summary>What a tenth less loss in the band alone would add to the spin, s: the time there over 0.9.</summary>
    public double TenthLessS => TimeS.Median * ((1 / 0.9) - 1);
}
