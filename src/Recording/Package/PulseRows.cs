using System.Buffers.Text;
using System.Globalization;
using Acquire.Conditioning;

namespace Acquire.Recording;

/// <summary>Rows of pulses.csv as bytes.</summary>
internal static class PulseRows
{
    /// <summary>No row is longer: four numbers of at most 20 digits with sign and point, kind and mark.</summary>
    public const int LongestRowBytes = 160;

    private const double LargestExactTurns = 1e9;
    private const long NsPerSecond = 1_000_000_000;

    /// <summary>Writes the rows and returns how many bytes they took.</summary>
    public static int Write(ReadOnlySpan<JudgedPulse> pulses, long firstTicks, TickScale scale, Span<byte> into)
    {
        int at = 0;
        foreach (ref readonly JudgedPulse pulse in pulses)
        {
            at += Decimal(into[at..], scale.Nanoseconds(pulse.Ticks - firstTicks), NsPerSecond, 9);
            into[at++] = (byte)',';
            Utf8Formatter.TryFormat(pulse.Ticks, into[at..], out int written);
            at += written;
            at += Kind(into[at..], pulse);
            at += Turns(into[at..], pulse.Turns);
            into[at++] = (byte)',';
            if (pulse.WidthTicks > 0)
                at += Decimal(into[at..], scale.Nanoseconds(pulse.WidthTicks), NsPerSecond, 9);
            into[at++] = (byte)'\n';
        }

        return at;
    }

    private static int Kind(Span<byte> into, in JudgedPulse pulse)
    {
        if (pulse.Kind == PulseKind.Extra)
        {
            ",extra,,"u8.CopyTo(into);
            return 8;
        }

        ",mark,"u8.CopyTo(into);
        Utf8Formatter.TryFormat(pulse.Mark, into[6..], out int written);
        into[6 + written] = (byte)',';
        return 7 + written;
    }

    private static int Turns(Span<byte> into, double turns)
    {
        if (Math.Abs(turns) < LargestExactTurns)
            return Decimal(into, (long)Math.Round(turns * 1e6), 1_000_000, 6);
        if (!double.IsFinite(turns))
            return 0;
        turns.TryFormat(into, out int written, "E15", CultureInfo.InvariantCulture);
        return written;
    }

    private static int Decimal(Span<byte> into, long value, long one, int decimals)
    {
        int at = 0;
        if (value < 0)
        {
            into[at++] = (byte)'-';
            value = -value;
        }

        long whole = value / one;
        if (whole < 10)
        {
            into[at++] = (byte)('0' + whole);
        }
        else
        {
            Utf8Formatter.TryFormat(whole, into[at..], out int written);
            at += written;
        }

        into[at++] = (byte)'.';
        uint rest = (uint)(value - (whole * one));
        for (int i = at + decimals - 1; i >= at; i--)
        {
            uint tenth = rest / 10;
            into[i] = (byte)('0' + rest - (tenth * 10));
            rest = tenth;
        }

        return at + decimals;
    }
}
