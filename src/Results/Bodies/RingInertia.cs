using MathNet.Numerics.Distributions;

namespace Acquire.Results.Bodies;

/// <summary>A body's moment of inertia from spin-downs with and without a ring whose moment of inertia is known.</summary>
/// <remarks>
/// At one speed the same losses act, so that J α₀ = (J + Jr) α₁ with the decelerations without and with the ring. The times from one speed
/// to another are then as R = T₁/T₀ = (J + Jr)/J, whatever the law of the losses, and J = Jr/(R − 1). The ring must not change the losses: it adds weight on the
/// tip, and what it changes of the air counts too.
/// </remarks>
public sealed record RingInertia
{
    private const double Side = 0.975;

    private RingInertia(double ringKgM2, double uRingKgM2, Mean without, Mean with)
    {
        double u2 = without.U2 + with.U2;
        (Ratio, ULnRatio) = (Math.Exp(with.Ln - without.Ln), Math.Sqrt(u2));
        InertiaKgM2 = ringKgM2 / (Ratio - 1);
        double uRing = uRingKgM2 / ringKgM2;
        UInertiaKgM2 = InertiaKgM2 * Math.Sqrt((uRing * uRing) + Math.Pow(Ratio / (Ratio - 1) * ULnRatio, 2));
        DegreesOfFreedom = Welch(without, with, u2);
        double t = double.IsInfinity(DegreesOfFreedom) ? Normal.InvCDF(0, 1, Side) : StudentT.InvCDF(0, 1, DegreesOfFreedom, Side);
        double ring = Normal.InvCDF(0, 1, Side) * uRing;
        LowKgM2 = InertiaKgM2 * (1 - Math.Sqrt(Math.Pow(1 - (Limit(t) / InertiaKgM2), 2) + (ring * ring)));
        HighKgM2 = InertiaKgM2 * (1 + Math.Sqrt(Math.Pow((Limit(-t) / InertiaKgM2) - 1, 2) + (ring * ring)));

        double Limit(double times) => ringKgM2 / Math.Max(0, (Ratio * Math.Exp(times * ULnRatio)) - 1);
    }

    /// <summary>The moment of inertia without the ring, kg m².</summary>
    public double InertiaKgM2 { get; }

    /// <summary>Its standard uncertainty, kg m².</summary>
    public double UInertiaKgM2 { get; }

    /// <summary>Lower end of its 95 % interval, kg m².</summary>
    public double LowKgM2 { get; }

    /// <summary>Upper end of its 95 % interval, kg m²; infinite where the times do not show that the ring made any difference.</summary>
    public double HighKgM2 { get; }

    /// <summary>Time with the ring over that without.</summary>
    public double Ratio { get; }

    /// <summary>Standard uncertainty of the ratio's logarithm.</summary>
    public double ULnRatio { get; }

    /// <summary>Degrees of freedom of the interval (Welch and Satterthwaite); infinite where the scatter of several spins is not in it.</summary>
    public double DegreesOfFreedom { get; }

    /// <summary>True where each state was spun twice or more, so that how well a spin repeats is in the uncertainty.</summary>
    public bool ShowsRepeatability => !double.IsInfinity(DegreesOfFreedom);

    /// <summary>Works it out.</summary>
    /// <param name="ringKgM2">The ring's moment of inertia about the axis, kg m².</param>
    /// <param name="uRingKgM2">Its standard uncertainty, kg m².</param>
    /// <param name="without">Times from one speed to another without the ring, with their standard uncertainties, s; one at least.</param>
    /// <param name="with">Times between the same speeds with it.</param>
    /// <returns>Null where it took no longer with the ring: then no inertia follows.</returns>
    public static RingInertia? Of(
        double ringKgM2, double uRingKgM2, IReadOnlyList<(double Seconds, double USeconds)> without, IReadOnlyList<(double Seconds, double USeconds)> with)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(ringKgM2);
        ArgumentOutOfRangeException.ThrowIfNegative(uRingKgM2);
        var answer = (Without: Mean.Of(without), With: Mean.Of(with));
        return answer.With.Ln > answer.Without.Ln ? new RingInertia(ringKgM2, uRingKgM2, answer.Without, answer.With) : null;
    }

    /// <summary>What the inertia would be if part of the loss were friction at the tip that grows with the weight.</summary>
    /// <param name="ringKgM2">The ring's moment of inertia, kg m².</param>
    /// <param name="addedWeight">The ring's mass over the body's.</param>
    /// <param name="tipShare">The part of the loss that is friction at the tip, without the ring.</param>
    public double WithTipFriction(double ringKgM2, double addedWeight, double tipShare) =>
        ringKgM2 / ((Ratio * (1 + (tipShare * addedWeight))) - 1);

    // A group whose scatter is not known counts as known well: its own measurement's uncertainty is all there is.
    private static double Welch(in Mean without, in Mean with, double u2)
    {
        double sum = Part(without) + Part(with);
        return sum > 0 && without.Df > 0 && with.Df > 0 ? u2 * u2 / sum : double.PositiveInfinity;

        static double Part(in Mean mean) => mean.Df > 0 ? mean.U2 * mean.U2 / mean.Df : 0;
    }

    private readonly record struct Mean(double Ln, double U2, int Df)
    {
        public static Mean Of(IReadOnlyList<(double Seconds, double USeconds)> times)
        {
            ArgumentOutOfRangeException.ThrowIfZero(times.Count);
            double ln = times.Average(t => Math.Log(t.Seconds));
            double own = times.Sum(t => Math.Pow(t.USeconds / t.Seconds, 2)) / Math.Pow(times.Count, 2);
            int df = times.Count - 1;
            double scatter = df == 0 ? 0 : times.Sum(t => Math.Pow(Math.Log(t.Seconds) - ln, 2)) / df / times.Count;
            return new Mean(ln, Math.Max(own, scatter), df);
        }
    }
}
