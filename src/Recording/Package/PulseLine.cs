using System.Globalization;
using Acquire.Conditioning;

namespace Acquire.Recording;

/// <summary>One line of pulses.csv.</summary>
internal static class PulseLine
{
    private const int ExactDigits = 15;
    private static readonly double[] Powers = [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

    /// <summary>Reads the line into a row.</summary>
    /// <returns>Null, or what was expected where it is wrong.</returns>
    public static string? Read(ReadOnlySpan<byte> line, int row, RunPulses into)
    {
        if (line.EndsWith("\r"u8))
            line = line[..^1];
        if (!Cut(ref line, out ReadOnlySpan<byte> time) || !Number(time, out into.TimeS[row]))
            return "time_s, a number, first";
        if (!Cut(ref line, out ReadOnlySpan<byte> ticks) || !Whole(ticks, out into.Ticks[row]))
            return "ticks, a whole number of 64 bits, second";
        if (!Cut(ref line, out ReadOnlySpan<byte> kind) || !Cut(ref line, out ReadOnlySpan<byte> mark))
            return "six columns";
        if (ReadKind(kind, mark, row, into) is { } expected)
            return expected;
        if (!Cut(ref line, out ReadOnlySpan<byte> turns) || !NumberOrNothing(turns, out into.Turns[row]))
            return "turns, a number or nothing, fifth";
        return line.Contains((byte)',') || !NumberOrNothing(line, out into.WidthS[row]) ? "width_s, a number or nothing, sixth and last" : null;
    }

    private static string? ReadKind(ReadOnlySpan<byte> kind, ReadOnlySpan<byte> mark, int row, RunPulses into)
    {
        if (kind.SequenceEqual("mark"u8))
        {
            if (!Whole(mark, out long number) || number is < 0 or > short.MaxValue)
                return "mark, a whole number from 0, fourth, where the kind is mark";
            into.Kind[row] = PulseKind.Mark;
            into.Mark[row] = (short)number;
            return null;
        }

        into.Kind[row] = PulseKind.Extra;
        into.Mark[row] = -1;
        if (!kind.SequenceEqual("extra"u8))
            return "kind, mark or extra, third";
        return mark.IsEmpty ? null : "no mark where the kind is extra";
    }

    private static bool Cut(ref ReadOnlySpan<byte> line, out ReadOnlySpan<byte> cell)
    {
        int comma = line.IndexOf((byte)',');
        cell = comma < 0 ? default : line[..comma];
        line = line[(comma + 1)..];
        return comma >= 0;
    }

    private static bool NumberOrNothing(ReadOnlySpan<byte> text, out double value)
    {
        value = double.NaN;
        return text.IsEmpty || Number(text, out value);
    }

    /// <summary>Up to 15 digits and a power of ten are both exact in a double, so that one division rounds as a full parser would.</summary>
    private static bool Number(ReadOnlySpan<byte> text, out double value)
    {
        int at = text.Length > 0 && text[0] == '-' ? 1 : 0;
        long digits = 0;
        int point = -1;
        int count = 0;
        for (int i = at; i < text.Length; i++)
        {
            uint digit = unchecked(text[i] - (uint)'0'); // wraps for what is no digit
            if (digit <= 9)
            {
                digits = (digits * 10) + digit;
                count++;
            }
            else if (text[i] == '.' && point < 0)
            {
                point = i;
            }
            else
            {
                return Parse(text, out value);
            }

            if (count > ExactDigits)
                return Parse(text, out value);
        }

        int decimals = point < 0 ? 0 : text.Length - 1 - point;
        value = digits / Powers[decimals];
        if (at > 0)
            value = -value;
        return count > 0;
    }

    private static bool Parse(ReadOnlySpan<byte> text, out double value) =>
        double.TryParse(text, NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint | NumberStyles.AllowExponent, CultureInfo.InvariantCulture, out value)
        && double.IsFinite(value);

    private static bool Whole(ReadOnlySpan<byte> text, out long value) =>
        long.TryParse(text, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out value);
}
