using System.CommandLine;
using System.Globalization;

namespace Acquire.Service.Commands;

/// <summary>An option whose value is a number within limits.</summary>
/// <param name="name">The option.</param>
/// <param name="argument">What the help calls the value.</param>
/// <param name="help">What it is for.</param>
/// <param name="least">The least that is allowed.</param>
/// <param name="most">The most.</param>
/// <param name="unit">The unit, for people.</param>
internal sealed class NumberOption(string name, string argument, string help, double least, double most, string unit)
{
    /// <summary>The option for a command.</summary>
    public Option<string> Option { get; } = new(name) { HelpName = argument, Description = help };

    /// <summary>The value; null where it is not given, and a problem more where it is no number within the limits.</summary>
    public double? Read(ParseResult call, List<string> problems)
    {
        if (call.GetValue(Option) is not { } text)
            return null;
        if (double.TryParse(unit == "%" ? text.TrimEnd('%', ' ') : text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && value >= least && value <= most)
            return value;
        string comma = text.Contains(',', StringComparison.Ordinal) ? ", with a point and not a comma" : "";
        problems.Add(string.Create(CultureInfo.InvariantCulture, $"{name}: '{text}' on the command line; allowed is a number from {least} to {most} {unit}").TrimEnd() + comma);
        return null;
    }
}
