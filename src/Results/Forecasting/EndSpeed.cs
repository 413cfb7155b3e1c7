using MathNet.Numerics.Distributions;

namespace Acquire.Results.Forecasting;

/// <summary>Where the speed is known from at which a spin ends.</summary>
public enum EndBasis
{
    /// <summary>The topple speed of the body's file.</summary>
    Rotor,

    /// <summary>Earlier spins of the same top that ended by themselves.</summary>
    EarlierRuns,

    /// <summary>Nothing: it is assumed.</summary>
    Assumed,

    /// <summary>The user's own word.</summary>
    Given,

    /// <summary>The spin itself, which is over.</summary>
    Seen,
}

/// <summary>The speed at which a spin will end: its logarithm is spread as Student's t.</summary>
/// <param name="Rpm">The median, turns a minute.</param>
/// <param name="Share">Scale of the spread of its logarithm.</param>
/// <param name="Freedom">Degrees of freedom; infinite for a bell curve.</param>
/// <param name="Basis">Where it is from.</param>
/// <param name="Runs">Earlier runs that it rests on.</param>
public sealed record EndSpeed(double Rpm, double Share, double Freedom, EndBasis Basis, int Runs = 0)
{
    /// <summary>What a body's topple speed is taken to be off by: the formula knows a sharp tip, no friction and no lean (assumed).</summary>
    public const double RotorShare = 0.06;

    /// <summary>The assumed end, turns a minute: half of all bodies somewhat above it, half below (assumed).</summary>
    public const double UsualRpm = 250;

    private const double UsualShare = 0.25;
    private const double FewShare = 0.04;      // what ends of one top scatter by, where too few were seen to tell (assumed)

    /// <summary>Where nothing is known.</summary>
    public static EndSpeed Assumed { get; } = new(UsualRpm, UsualShare, double.PositiveInfinity, EndBasis.Assumed);

    /// <summary>By a body's topple speed.</summary>
    /// <param name="toppleRpm">Turns a minute, above 0.</param>
    public static EndSpeed OfRotor(double toppleRpm) => new(toppleRpm, RotorShare, double.PositiveInfinity, EndBasis.Rotor);

    /// <summary>By earlier spins: as the next of a normal sample of logarithms.</summary>
    /// <param name="lastRpm">Their last speeds, turns a minute; one at least.</param>
    public static EndSpeed OfRuns(IReadOnlyCollection<double> lastRpm)
    {
        ArgumentOutOfRangeException.ThrowIfZero(lastRpm.Count);
        NextOne next = NextOne.Of([.. lastRpm.Select(rpm => Math.Log(rpm))], FewShare);
        return new EndSpeed(Math.Exp(next.Mean), next.Scale, next.Freedom, EndBasis.EarlierRuns, next.Count);
    }

    /// <summary>The speed that a share of the ends stay below, of those below a limit: a body that still stands has not ended yet.</summary>
    /// <param name="share">The share, above 0 and below 1.</param>
    /// <param name="limitRpm">The limit, turns a minute.</param>
    public double Below(double share, double limitRpm)
    {
        if (!(Share > 0))
            return Math.Min(Rpm, limitRpm);
        double most = double.IsInfinity(Freedom) ? Normal.CDF(Math.Log(Rpm), Share, Math.Log(limitRpm)) : StudentT.CDF(Math.Log(Rpm), Share, Freedom, Math.Log(limitRpm));
        double at = Math.Max(share * most, 1e-12);
        return Math.Min(limitRpm, Math.Exp(double.IsInfinity(Freedom) ? Normal.InvCDF(Math.Log(Rpm), Share, at) : StudentT.InvCDF(Math.Log(Rpm), Share, Freedom, at)));
    }
}
