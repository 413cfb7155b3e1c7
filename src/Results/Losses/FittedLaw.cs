namespace Acquire.Results.Losses;

/// <summary>What a law was fitted to.</summary>
/// <param name="Marks">Marks, or speeds, that were used.</param>
/// <param name="Strays">Marks and blocks of marks left out because they lie far from those about them.</param>
/// <param name="Blocks">Blocks that the marks were averaged in; of speeds, their number.</param>
/// <param name="Colour">Long-run variance of the residuals over that of neighbours: 1 where they are white.</param>
/// <param name="FromS">Where it begins, seconds since the first pulse.</param>
/// <param name="ToS">Where it ends.</param>
/// <param name="Freedom">Degrees of freedom of the stated uncertainties.</param>
/// <param name="LastRadPerS">The lowest speed in it, rad/s.</param>
/// <param name="FirstRadPerS">The highest speed in it, rad/s.</param>
public sealed record LawData(
    int Marks, int Strays, int Blocks, double Colour, double FromS, double ToS, int Freedom, double LastRadPerS, double FirstRadPerS);

/// <summary>A figure with its standard uncertainty.</summary>
/// <param name="Value">The figure.</param>
/// <param name="U">Its standard uncertainty.</param>
public readonly record struct Estimate(double Value, double U);

/// <summary>A loss law as far as a spin tells it: the law chosen, those that explain nearly as well, and what follows from all of them.</summary>
/// <remarks>Figures are means over the candidates by their weights exp(−Behind/2), with the spread between them in the uncertainty (Buckland,
/// Burnham and Augustin, "Model selection: an integral part of inference", Biometrics 53 (1997) 603; from memory).</remarks>
public sealed class FittedLaw
{
    /// <summary>A candidate that is further behind than this is left out.</summary>
    internal const double Unlikely = 14;

    /// <summary>Candidates nearer than this cannot be told from the best.</summary>
    private const double Near = 4;

    private readonly double[] _weights;

    private FittedLaw(IReadOnlyList<LawCandidate> candidates, LawData data)
    {
        (Candidates, Data) = (candidates, data);
        double[] weights = [.. candidates.Select(c => Math.Exp(-c.Behind / 2))];
        _weights = [.. weights.Select(w => w / weights.Sum())];
        Groups = Grouped();
    }

    /// <summary>The law chosen.</summary>
    public LossLaw Law => Candidates[0].Law;

    /// <summary>The candidates, the chosen one first.</summary>
    public IReadOnlyList<LawCandidate> Candidates { get; }

    /// <summary>What it was fitted to.</summary>
    public LawData Data { get; }

    /// <summary>The exponents of the law and of those that cannot be told from it, those together that stand for each other: of a group with
    /// more than one the sum is known, not the parts.</summary>
    public IReadOnlyList<IReadOnlyList<double>> Groups { get; }

    /// <summary>How likely a candidate is beside the others, 0 to 1, by its criterion.</summary>
    public double Weight(int candidate) => _weights[candidate];

    /// <summary>Whether the data bear a law without any of these terms too.</summary>
    public bool MayBeAbsent(IReadOnlyList<double> exponents) =>
        Candidates.Any(c => c.Behind < Near && !c.Law.Terms.Any(t => exponents.Contains(t.Exponent)));

    /// <summary>The coefficient of an exponent with its uncertainty: about the chosen law's, what the other candidates have in it.</summary>
    public Estimate Coefficient(double exponent)
    {
        double chosen = Law.Terms.FirstOrDefault(t => t.Exponent == exponent).Coefficient;
        double squares = 0;
        for (int i = 0; i < Candidates.Count; i++)
        {
            (double value, double u) = Values(Candidates[i], law => law.Terms.FirstOrDefault(t => t.Exponent == exponent).Coefficient,
                law => [.. law.Terms.Select(t => t.Exponent == exponent ? 1.0 : 0)]);
            squares += _weights[i] * ((u * u) + ((value - chosen) * (value - chosen)));
        }

        return new Estimate(chosen, Math.Sqrt(squares));
    }

    /// <summary>Correlation of two coefficients of the chosen law.</summary>
    public double Correlation(int i, int j)
    {
        double[,] c = Candidates[0].Covariance;
        return c[i, j] / Math.Sqrt(c[i, i] * c[j, j]);
    }

    /// <summary>Deceleration at a speed, rad/s².</summary>
    /// <param name="radPerS">The speed, rad/s.</param>
    public Estimate Deceleration(double radPerS) => Average(
        law => law.Deceleration(radPerS), law => [.. law.Terms.Select(t => LossLaw.Power(radPerS / LossLaw.OmegaRefRadPerS, t.Exponent))]);

    /// <summary>Time from one speed down to another, s.</summary>
    /// <param name="fromRadPerS">The higher speed, rad/s.</param>
    /// <param name="toRadPerS">The lower speed, rad/s, above 0.</param>
    public Estimate TimeBetween(double fromRadPerS, double toRadPerS) =>
        Average(law => law.TimeBetween(fromRadPerS, toRadPerS), law => law.TimeSlopes(fromRadPerS, toRadPerS));

    /// <summary>Deceleration by some of the terms together at a speed, rad/s².</summary>
    /// <param name="exponents">Their exponents.</param>
    /// <param name="radPerS">The speed, rad/s.</param>
    public Estimate Part(IReadOnlyList<double> exponents, double radPerS) => Average(
        law => law.Terms.Where(t => exponents.Contains(t.Exponent)).Sum(t => t.Coefficient * LossLaw.Power(radPerS / LossLaw.OmegaRefRadPerS, t.Exponent)),
        law => [.. law.Terms.Select(t => exponents.Contains(t.Exponent) ? LossLaw.Power(radPerS / LossLaw.OmegaRefRadPerS, t.Exponent) : 0)]);

    /// <summary>Share of some of the terms together in the deceleration at a speed, 0 to 1.</summary>
    /// <param name="exponents">Their exponents.</param>
    /// <param name="radPerS">The speed, rad/s.</param>
    public Estimate Share(IReadOnlyList<double> exponents, double radPerS)
    {
        double ratio = radPerS / LossLaw.OmegaRefRadPerS;
        double Of(LossLaw law) => law.Terms.Select((t, k) => exponents.Contains(t.Exponent) ? law.Share(k, radPerS) : 0).Sum();
        return Average(Of, law =>
        {
            (double share, double all) = (Of(law), law.Deceleration(radPerS));
            return [.. law.Terms.Select(t => LossLaw.Power(ratio, t.Exponent) * ((exponents.Contains(t.Exponent) ? 1 : 0) - share) / all)];
        });
    }

    /// <summary>Any figure that follows from the law.</summary>
    /// <param name="value">The figure of a law.</param>
    /// <param name="slopes">How it changes with each of that law's coefficients.</param>
    public Estimate Average(Func<LossLaw, double> value, Func<LossLaw, double[]> slopes)
    {
        Estimate[] each = [.. Candidates.Select(c => Values(c, value, slopes))];
        double mean = each.Select((e, i) => _weights[i] * e.Value).Sum();
        return new Estimate(mean, Math.Sqrt(each.Select((e, i) => _weights[i] * ((e.U * e.U) + ((e.Value - mean) * (e.Value - mean)))).Sum()));
    }

    internal static FittedLaw Of(IReadOnlyList<LawCandidate> candidates, LawData data) => new(candidates, data);

    private static Estimate Values(LawCandidate candidate, Func<LossLaw, double> value, Func<LossLaw, double[]> slopes) =>
        new(value(candidate.Law), candidate.U(slopes(candidate.Law)));

    // What one of two laws has and the other has not stands for each other.
    private List<IReadOnlyList<double>> Grouped()
    {
        double[] chosen = [.. Law.Terms.Select(t => t.Exponent)];
        var groups = chosen.Select(p => new HashSet<double> { p }).ToList();
        foreach (LawCandidate other in Candidates.Where(c => c.Behind < Near))
        {
            double[] others = [.. other.Law.Terms.Select(t => t.Exponent)];
            double[] differ = [.. chosen.Except(others), .. others.Except(chosen)];
            if (differ.Length == 0 || !others.Except(chosen).Any())
                continue;
            var joined = new HashSet<double>(differ);
            foreach (HashSet<double> group in groups.Where(g => g.Overlaps(joined)).ToArray())
            {
                joined.UnionWith(group);
                groups.Remove(group);
            }

            groups.Add(joined);
        }

        return [.. groups.Select(g => (IReadOnlyList<double>)[.. g.Order()]).OrderBy(g => g[0])];
    }
}
