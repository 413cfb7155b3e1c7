using System.Globalization;

namespace Acquire.Service.Capture;

/// <summary>One setting of a capture: its key in the configuration, its option on the command line and what it allows.</summary>
/// <param name="Key">The name in section <c>Capture</c>.</param>
/// <param name="Option">The option on the command line.</param>
/// <param name="Argument">What the help calls the value.</param>
/// <param name="Help">What it is for.</param>
internal abstract record CaptureSetting(string Key, string Option, string Argument, string Help)
{
    /// <summary>What is allowed, for people.</summary>
    public abstract string Allowed { get; }

    /// <summary>True where the option may stand without a value.</summary>
    public virtual bool IsFlag => false;

    /// <summary>Puts the value that <paramref name="text"/> says into the options; false where it says none of the right kind.
    /// Whether the value is in range is asked with <see cref="Wrong"/>.</summary>
    public abstract bool TryRead(string text, CaptureOptions options);

    /// <summary>The value as text.</summary>
    public abstract string Value(CaptureOptions options);

    /// <summary>True where the value is not allowed.</summary>
    public abstract bool Wrong(CaptureOptions options);
}

/// <summary>A number within bounds.</summary>
internal sealed record NumberSetting(
    string Key, string Option, string Argument, string Help, double Least, double Most, bool Whole,
    Func<CaptureOptions, double> Get, Action<CaptureOptions, double> Set) : CaptureSetting(Key, Option, Argument, Help)
{
    public override string Allowed => string.Create(
        CultureInfo.InvariantCulture, $"a {(Whole ? "whole number" : "number")} from {Least} to {Most}");

    public override bool TryRead(string text, CaptureOptions options)
    {
        if (!double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value)) return false;
        if (Whole && !(Math.Abs(value) <= int.MaxValue && Math.Floor(value) == value)) return false;
        Set(options, value);
        return true;
    }

    public override string Value(CaptureOptions options) => Get(options).ToString(CultureInfo.InvariantCulture);

    public override bool Wrong(CaptureOptions options) => !(Get(options) >= Least && Get(options) <= Most);
}

/// <summary>A number within bounds that need not be given.</summary>
internal sealed record OptionalNumberSetting(
    string Key, string Option, string Argument, string Help, double Least, double Most,
    Func<CaptureOptions, double?> Get, Action<CaptureOptions, double?> Set) : CaptureSetting(Key, Option, Argument, Help)
{
    public override string Allowed => string.Create(CultureInfo.InvariantCulture, $"a number from {Least} to {Most}");

    public override bool TryRead(string text, CaptureOptions options)
    {
        if (!double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value)) return false;
        Set(options, value);
        return true;
    }

    public override string Value(CaptureOptions options) => Get(options)?.ToString(CultureInfo.InvariantCulture) ?? "";

    public override bool Wrong(CaptureOptions options) => Get(options) is { } value && !(value >= Least && value <= Most);
}

/// <summary>Yes or no.</summary>
internal sealed record FlagSetting(
    string Key, string Option, string Help, Func<CaptureOptions, bool> Get, Action<CaptureOptions, bool> Set)
    : CaptureSetting(Key, Option, "true|false", Help)
{
    public override string Allowed => "true or false";

    public override bool IsFlag => true;

    public override bool TryRead(string text, CaptureOptions options)
    {
        if (!bool.TryParse(text, out bool value)) return false;
        Set(options, value);
        return true;
    }

    public override string Value(CaptureOptions options) => Get(options) ? "true" : "false";

    public override bool Wrong(CaptureOptions options) => false;
}

/// <summary>A text of one line.</summary>
internal sealed record TextSetting(
    string Key, string Option, string Argument, string Help, int Longest, bool Needed,
    Func<CaptureOptions, string> Get, Action<CaptureOptions, string> Set) : CaptureSetting(Key, Option, Argument, Help)
{
    public override string Allowed => $"a text of one line, {(Needed ? "1" : "0")} to {Longest} characters";

    public override bool TryRead(string text, CaptureOptions options)
    {
        Set(options, text);
        return true;
    }

    public override string Value(CaptureOptions options) => Get(options);

    public override bool Wrong(CaptureOptions options)
    {
        string text = Get(options);
        return text.Length > Longest || text.Any(char.IsControl) || (Needed && string.IsNullOrWhiteSpace(text));
    }
}

/// <summary>One of a few words.</summary>
internal sealed record ChoiceSetting(
    string Key, string Option, string Help, string[] Choices,
    Func<CaptureOptions, string> Get, Action<CaptureOptions, string> Set)
    : CaptureSetting(Key, Option, string.Join('|', Choices), Help)
{
    public override string Allowed => string.Join(", ", Choices[..^1]) + " or " + Choices[^1];

    public override bool TryRead(string text, CaptureOptions options)
    {
        Set(options, text);
        return true;
    }

    public override string Value(CaptureOptions options) => Get(options);

    public override bool Wrong(CaptureOptions options) => !Choices.Contains(Get(options), StringComparer.Ordinal);
}
