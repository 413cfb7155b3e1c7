using MathNet.Numerics.Integration;

namespace Acquire.Results.Losses;

/// <summary>A term of a loss law: deceleration = coefficient · (ω/ω_ref)^exponent.</summary>
/// <param name="Exponent">The exponent.</param>
/// <param name="Coefficient">The deceleration at ω_ref, rad/s², not negative.</param>
public readonly record struct LawTerm(double Exponent, double Coefficient);

/// <summary>A law by which a body slows down: dω/dt = −Σ a_k (ω/ω_ref)^p.</summary>
/// <param name="Terms">Its terms.</param>
public sealed record LossLaw(IReadOnlyList<LawTerm> Terms)
{
    /// <summary>ω_ref of every law, rad/s: 1000 rpm, so that coefficients of different runs can be laid beside each other.</summary>
    public const double OmegaRefRadPerS = 1000 * Math.PI / 30;

    private const double PanelRatio = 1.15;
    private const int Order = 16;

    /// <summary>The exponents that are tried: dry contact at the tip; viscous or eddy current; laminar boundary layer; turbulent boundary
    /// layer; pressure drag and pumping.</summary>
    public static IReadOnlyList<double> Exponents { get; } = [0, 1, 1.5, 1.8, 2];

    /// <summary>(ω/ω_ref)^p.</summary>
    /// <param name="ratio">ω/ω_ref.</param>
    /// <param name="exponent">p.</param>
    public static double Power(double ratio, double exponent) => exponent switch
    {
        0 => 1,
        1 => ratio,
        1.5 => ratio * Math.Sqrt(ratio),
        2 => ratio * ratio,
        _ => Math.Pow(ratio, exponent),
    };

    /// <summary>Deceleration at a speed, rad/s².</summary>
    /// <param name="radPerS">The speed, rad/s, not negative.</param>
    public double Deceleration(double radPerS)
    {
        double ratio = radPerS / OmegaRefRadPerS;
        double sum = 0;
        for (int k = 0; k < Terms.Count; k++)
            sum += Terms[k].Coefficient * Power(ratio, Terms[k].Exponent);
        return sum;
    }

    /// <summary>Share of a term in the deceleration at a speed.</summary>
    /// <param name="term">Its place in <see cref="Terms"/>.</param>
    /// <param name="radPerS">The speed, rad/s, above 0.</param>
    public double Share(int term, double radPerS) =>
        Terms[term].Coefficient * Power(radPerS / OmegaRefRadPerS, Terms[term].Exponent) / Deceleration(radPerS);

    /// <summary>Time from one speed down to another, s.</summary>
    /// <param name="fromRadPerS">The higher speed, rad/s.</param>
    /// <param name="toRadPerS">The lower speed, rad/s, above 0.</param>
    public double TimeBetween(double fromRadPerS, double toRadPerS) => Integral(fromRadPerS, toRadPerS, w => 1 / Deceleration(w));

    /// <summary>How that time changes with each coefficient, s per rad/s².</summary>
    /// <param name="fromRadPerS">The higher speed, rad/s.</param>
    /// <param name="toRadPerS">The lower speed, rad/s, above 0.</param>
    public double[] TimeSlopes(double fromRadPerS, double toRadPerS) =>
    [
        .. Terms.Select(term => -Integral(fromRadPerS, toRadPerS, w =>
        {
            double f = Deceleration(w);
            return Power(w / OmegaRefRadPerS, term.Exponent) / (f * f);
        })),
    ];

    // Gauss-Legendre over panels whose ends differ by no more than PanelRatio: the integrand is smooth in each.
    private static double Integral(double from, double to, Func<double, double> of)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(to);
        ArgumentOutOfRangeException.ThrowIfLessThan(from, to);
        int panels = Math.Max(1, (int)Math.Ceiling(Math.Log(from / to) / Math.Log(PanelRatio)));
        double sum = 0;
        for (int i = 0; i < panels; i++)
        {
            double low = to * Math.Pow(from / to, (double)i / panels);
            double high = to * Math.Pow(from / to, (i + 1.0) / panels);
            sum += GaussLegendreRule.Integrate(of, low, high, Order);
        }

        return sum;
    }
}
