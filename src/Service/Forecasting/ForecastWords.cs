using System.Globalization;
using Acquire.Results.Forecasting;
using Acquire.Service.Display;

namespace Acquire.Service.Forecasting;

/// <summary>A forecast's figures in words.</summary>
internal static class ForecastWords
{
    private const double LongS = 600;

    /// <summary>A time: in whole seconds where it is long, else with tenths.</summary>
    public static string Time(double seconds) => seconds >= LongS ? Numbers.Clock(seconds + 0.5) : Numbers.ClockTenths(seconds);

    /// <summary>Its interval.</summary>
    public static string Interval(Spread timeS) => $"{Time(timeS.Low)} to {Time(timeS.High)}";

    /// <summary>A time that may be less than nothing.</summary>
    public static string Gain(double seconds) => (seconds < 0 ? "−" : "+") + Time(Math.Abs(seconds));

    /// <summary>Where the end's speed is from.</summary>
    public static string Of(EndSpeed end) => end.Basis switch
    {
        EndBasis.Rotor => Text($"the topple speed of the body's file, taken to be off by {100 * EndSpeed.RotorShare:0} % (standard uncertainty)"),
        EndBasis.EarlierRuns => end.Runs == 1 ? "where the one earlier spin of this top ended by itself" : Text($"where {end.Runs} earlier spins of this top ended by themselves"),
        EndBasis.Given => "as given",
        EndBasis.Seen => "as it was seen",
        _ => "assumed, and not known well: give the body's file (--rotor), the speed (--end), or spin this top until it falls",
    };

    /// <summary>What earlier spins of the set-up did to the forecast; empty where there are none.</summary>
    public static string Of(EarlierUse use) => use switch
    {
        EarlierUse.Agree => "Earlier spins of this set-up agree with the law so far, and narrow what is possible.",
        EarlierUse.KnowFarBetter => "How long the rest lasts is by earlier spins of this set-up from the same speed, as fast as this one slows now: they tell it better than the law so far.",
        EarlierUse.Contradict => "How long the rest lasts is by earlier spins of this set-up from the same speed, as fast as this one slows now: the law so far foretells what they did not do.",
        _ => "",
    };

    /// <summary>The same as a key.</summary>
    public static string Key(EndBasis basis) => basis switch
    {
        EndBasis.Rotor => "rotor",
        EndBasis.EarlierRuns => "earlierRuns",
        EndBasis.Given => "given",
        EndBasis.Seen => "seen",
        _ => "assumed",
    };

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
