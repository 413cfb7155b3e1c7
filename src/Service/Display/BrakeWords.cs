using System.Globalization;
using Acquire.Results.Braking;

namespace Acquire.Service.Display;

/// <summary>What two configurations of a motor bench come to beside each other, in words.</summary>
internal static class BrakeWords
{
    /// <summary>One line to act on.</summary>
    public static string Verdict(BrakeComparison told, BrakeText text) => told.Verdict switch
    {
        BrakeVerdict.Apart => $"not to be compared with {told.First.Name}: no speeds in common",
        BrakeVerdict.NotShown => NotShown(told, text),
        _ => Shown(told, text),
    };

    private static string Shown(BrakeComparison told, BrakeText text)
    {
        bool less = told.Verdict == BrakeVerdict.LessAtSpeed;
        (string there, string below) = less ? ("less", "more") : ("more", "less");
        string first = told.First.Name;
        string range = $"{BrakeText.Rpm(told.FromRadPerS)} to {BrakeText.Rpm(told.ToRadPerS)} rpm";
        if (told.HighRadPerS <= told.FromRadPerS)
            return $"brakes {there} than {first} at all speeds measured, {range}: {Size(told, told.ToRadPerS)}{Top(told)}";
        if (double.IsFinite(told.LowRadPerS))
            return $"brakes {there} than {first} above {BrakeText.Rpm(told.CrossingRadPerS)} rpm (95 % interval {BrakeText.Rpm(told.LowRadPerS)} to {BrakeText.Rpm(told.HighRadPerS)}), {below} below: {Size(told, told.ToRadPerS)}{Top(told)}";
        BrakeDifference lost = told.At(0.5 * (told.FromRadPerS + told.HighRadPerS));
        return $"brakes {there} than {first}, shown above {BrakeText.Rpm(told.HighRadPerS)} rpm: {Size(told, told.ToRadPerS)}{Top(told)}. Below that {(lost.Shown == 0 ? "the noise is larger than the difference" : "the readings by themselves do not bear out a difference")}: "
            + $"at {BrakeText.Rpm(lost.RadPerS)} rpm {text.Difference(lost)} {text.Unit.Name}";
    }

    // A curve is least sure at its ends.
    private static string Top(BrakeComparison told)
    {
        const double Near = 0.98;
        double last = told.Course.Last(d => d.Shown != 0).RadPerS;
        return last < Near * told.ToRadPerS ? $" (not shown again above {BrakeText.Rpm(last)} rpm)" : "";
    }

    private static string Size(BrakeComparison told, double w)
    {
        BrakeDifference d = told.At(w);
        double of = told.First.TorqueNm(w).Value;
        return of > 0 && d.HalfWidthNm < of
            ? string.Create(CultureInfo.InvariantCulture, $"{100 * Math.Abs(d.LessNm) / of:F0} ± {100 * d.HalfWidthNm / of:F0} % {(d.LessNm < 0 ? "more" : "less")} at {BrakeText.Rpm(w)} rpm")
            : $"torque is small beside the noise at {BrakeText.Rpm(w)} rpm";
    }

    private static string NotShown(BrakeComparison told, BrakeText text)
    {
        BrakeDifference top = told.At(told.ToRadPerS);
        BrakeDifference middle = told.At(0.5 * (told.FromRadPerS + told.ToRadPerS));
        string would = double.IsFinite(told.WouldShowRadPerS)
            ? $"were it to grow as the square of the speed, a difference as large as the one seen would show above {BrakeText.Rpm(told.WouldShowRadPerS)} rpm with as many readings"
            : "a difference as small as the one seen would not show at three times the speed either: more readings, or steadier ones";
        return $"no difference from {told.First.Name} shown between {BrakeText.Rpm(told.FromRadPerS)} and {BrakeText.Rpm(told.ToRadPerS)} rpm: the noise is larger than the difference "
            + $"({text.Difference(middle)} {text.Unit.Name} at {BrakeText.Rpm(middle.RadPerS)} rpm, {text.Difference(top)} at {BrakeText.Rpm(top.RadPerS)}); {would}";
    }
}
