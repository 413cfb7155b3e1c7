using System.CommandLine;
using System.Globalization;

namespace Acquire.Service.Runs;

/// <summary>From one speed down to another, turns a minute.</summary>
internal readonly record struct SpeedRange(double FromRpm, double ToRpm);

/// <summary>The options <c>--from</c> and <c>--to</c>. Comparisons of tops commonly run from 2,000 down to 500 rpm (common practice, no source).</summary>
internal sealed class SpeedRangeOptions
{
    private const double UsualFromRpm = 2000;
    private const double UsualToRpm = 500;
    private const double FastestRpm = 1e6;

    private readonly Option<string> _from = new("--from") { HelpName = "RPM", Description = "The higher speed, turns a minute. [default: 2000]" };
    private readonly Option<string> _to = new("--to") { HelpName = "RPM", Description = "The lower speed. [default: 500]" };

    /// <summary>Gives a command these options.</summary>
    public void AddTo(Command command)
    {
        command.Options.Add(_from);
        command.Options.Add(_to);
    }

    /// <summary>Whether the call gives one of them.</summary>
    public bool IsGiven(ParseResult call) => call.GetValue(_from) is not null || call.GetValue(_to) is not null;

    /// <summary>Reads them.</summary>
    /// <returns>Null with what is wrong in <paramref name="problem"/>.</returns>
    public SpeedRange? Read(ParseResult call, out string? problem)
    {
        if (Speed(_from.Name, call.GetValue(_from), UsualFromRpm, out problem) is not { } from
            || Speed(_to.Name, call.GetValue(_to), UsualToRpm, out problem) is not { } to)
            return null;
        if (from > to) return new SpeedRange(from, to);
        problem = $"--from {Words(from)} --to {Words(to)}; a spin slows from the higher speed to the lower one: --from must be above --to";
        return null;
    }

    /// <summary>Reads a speed.</summary>
    /// <returns>Null with what is wrong in <paramref name="problem"/>.</returns>
    public static double? Speed(string option, string? text, double usualRpm, out string? problem)
    {
        problem = null;
        if (text is null) return usualRpm;
        if (double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double rpm) && rpm is > 0 and <= FastestRpm) return rpm;
        problem = $"{option}: '{text}'; allowed is a number of turns a minute above 0 without a unit, such as 2000";
        return null;
    }

    private static string Words(double rpm) => rpm.ToString("0.###", CultureInfo.InvariantCulture);
}
