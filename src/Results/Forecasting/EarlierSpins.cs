using MathNet.Numerics.Distributions;

namespace Acquire.Results.Forecasting;

/// <summary>What earlier spins of the same set-up did from the speed that the body has now: the time down to a lower speed, times the deceleration at the first. A loss
/// that is larger as a whole shortens the one as it raises the other, so that the product scatters far less than times do; and it knows of losses that set in or
/// cease at a speed, which no law of powers foretells.</summary>
/// <param name="ToRpm">The lower speed, turns a minute.</param>
/// <param name="Product">What the product of the next spin will be: its logarithm, of rad/s.</param>
public sealed record EarlierSpins(double ToRpm, NextOne Product)
{
    /// <summary>What the product scatters by, where too few spins were seen to tell (assumed).</summary>
    private const double UsualShare = 0.008;

    private const double Likely = 0.95;        // on each side: theirs is a forecast too, so that little is lost where the law was right
    private const double FarBetter = 5;

    /// <summary>Takes them.</summary>
    /// <param name="toRpm">The lower speed.</param>
    /// <param name="products">Time, s, times deceleration, rad/s², of each; one at least.</param>
    public static EarlierSpins Of(double toRpm, IReadOnlyCollection<double> products) => new(toRpm, NextOne.Of([.. products.Select(p => Math.Log(p))], UsualShare));

    /// <summary>How the products of possible laws lie beside theirs.</summary>
    /// <param name="logs">Logarithms of the products of laws, each as likely as another.</param>
    internal EarlierUse Beside(IReadOnlyList<double> logs)
    {
        double mean = logs.Average();
        double u = Math.Sqrt(logs.Average(l => (l - mean) * (l - mean)));
        if (Math.Abs(mean - Product.Mean) > StudentT.InvCDF(0, 1, Product.Freedom, Likely) * double.Hypot(u, Product.Scale))
            return EarlierUse.Contradict;
        return u > FarBetter * Product.Scale ? EarlierUse.KnowFarBetter : EarlierUse.Agree;
    }

    /// <summary>How likely a logarithm is, as a density.</summary>
    internal double Density(double log) => StudentT.PDF(Product.Mean, Product.Scale, Product.Freedom, log);

    /// <summary>The logarithm below which a share of them lie.</summary>
    internal double Quantile(double share) => StudentT.InvCDF(Product.Mean, Product.Scale, Product.Freedom, share);
}

/// <summary>What earlier spins do to a forecast.</summary>
public enum EarlierUse
{
    /// <summary>There are none.</summary>
    None,

    /// <summary>They and the law agree: the laws are weighed by them.</summary>
    Agree,

    /// <summary>The law leaves far more open than they do: times are by them.</summary>
    KnowFarBetter,

    /// <summary>The law foretells what they did not do: times are by them.</summary>
    Contradict,
}
