using System.Globalization;
using Acquire.Results.Losses;

namespace Acquire.Service.Display;

/// <summary>Losses in words.</summary>
internal static class LossWords
{
    /// <summary>What an exponent stands for.</summary>
    public static string Of(double exponent) => exponent switch
    {
        0 => "dry contact",
        1 => "viscous, eddy",
        1.5 => "laminar air",
        1.8 => "turbulent air",
        _ => "drag, pumping",
    };

    /// <summary>An exponent as it is written.</summary>
    public static string Power(double exponent) => exponent.ToString("0.#", CultureInfo.InvariantCulture);

    /// <summary>Exponents that stand for each other: <c>1.5 or 1.8</c>.</summary>
    public static string Powers(IReadOnlyList<double> group) => string.Join(" or ", group.Select(Power));

    /// <summary>What they stand for, in short.</summary>
    public static string Of(IReadOnlyList<double> group) => group.Count == 1 ? Of(group[0])
        : group.All(p => p >= 1.5) ? "air" : group.All(p => p >= 1) ? "air or viscous" : "not told apart";

    /// <summary>What the law leaves open, a sentence a line.</summary>
    public static IEnumerable<string> Undecided(FittedLaw law)
    {
        foreach (IReadOnlyList<double> group in law.Groups)
        {
            if (group.Count > 1) yield return $"Powers {Powers(group)}: the sum of them is known, not the parts.";
            else if (law.MayBeAbsent(group)) yield return $"Power {Power(group[0])}: may be absent; the data bear a law without it as well.";
        }
    }

    /// <summary>The flow about a disc.</summary>
    public static string Of(DiscFlow flow) => flow switch
    {
        DiscFlow.FreeLaminar => "laminar",
        DiscFlow.FreeTurbulent => "turbulent",
        DiscFlow.MergedLaminar => "I laminar, merged",
        DiscFlow.ApartLaminar => "II laminar, apart",
        DiscFlow.MergedTurbulent => "III turbulent, merged",
        _ => "IV turbulent, apart",
    };
}
