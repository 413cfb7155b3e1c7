using System.Globalization;
using System.Text;

namespace Acquire.Faults;

/// <summary>Lines of the pulse line protocol, written and read by the document (hardware/protocol/pulse-lines.md) alone: nothing here is
/// shared with the program.</summary>
internal static class PulseText
{
    public const string Hello = "H,1,2000000,32,0A0B,faults";

    /// <summary>A line with its check and its end.</summary>
    public static string Line(string body) => string.Create(CultureInfo.InvariantCulture, $"{body}*{Check(Encoding.Latin1.GetBytes(body)):X4}\n");

    public static string Pulse(int sequence, long ticks, int width) =>
        Line(string.Create(CultureInfo.InvariantCulture, $"P{sequence & 0xFF:X2},{ticks & 0xFFFFFFFF:X8},{width:X}"));

    public static string Status(long ticks, long pulses) =>
        Line(string.Create(CultureInfo.InvariantCulture, $"S,{ticks & 0xFFFFFFFF:X8},{pulses & 0xFFFFFFFF:X8},0000"));

    /// <summary>Counters of all pulse lines whose check holds, in order.</summary>
    public static IEnumerable<uint> Pulses(IEnumerable<byte> bytes) =>
        Lines(bytes).Where(line => Kind(line) == 'P').Select(line => uint.Parse(Encoding.Latin1.GetString(line, 4, 8), NumberStyles.HexNumber, CultureInfo.InvariantCulture));

    /// <summary>Lines that have ended, without their ends.</summary>
    public static IEnumerable<byte[]> Lines(IEnumerable<byte> bytes)
    {
        var line = new List<byte>();
        foreach (byte b in bytes)
        {
            if (b != '\n')
            {
                line.Add(b);
                continue;
            }

            if (line.Count > 0 && line[^1] == '\r')
                line.RemoveAt(line.Count - 1);
            yield return [.. line];
            line.Clear();
        }
    }

    /// <summary>The letter of a good line; <c>-</c> for a bad one.</summary>
    public static char Kind(byte[] line)
    {
        string text = Encoding.Latin1.GetString(line);
        int star = text.Length - 5;
        if (text.Length > 64 || star < 1 || text[star] != '*' || !IsHex(text[(star + 1)..], 4, 4) || Check(line[..star]) != Convert.ToInt32(text[(star + 1)..], 16))
            return '-';
        string[] fields = text[..star].Split(',');
        bool good = fields[0] switch
        {
            "H" => fields.Length == 6 && fields[1] == "1" && IsDecimal(fields[2], 1, 100_000_000_000) && IsDecimal(fields[3], 16, 64) && IsHex(fields[4], 4, 4) && IsName(fields[5]),
            "S" => fields.Length == 4 && IsHex(fields[1], 8, 8) && IsHex(fields[2], 8, 8) && IsHex(fields[3], 4, 4),
            _ when text[0] == 'P' => IsHex(fields[0][1..], 2, 2) && fields.Length is 2 or 3 && IsHex(fields[1], 8, 8) && (fields.Length == 2 || IsHex(fields[2], 1, 8)),
            _ when text[0] == 'T' => IsHex(fields[0][1..].ToUpperInvariant(), 2, 2) && fields.Length == 2 && IsHex(fields[1], 8, 8),
            _ => false,
        };
        return good ? text[0] : '-';
    }

    private static bool IsHex(string text, int least, int most) =>
        text.Length >= least && text.Length <= most && text.All(c => c is (>= '0' and <= '9') or (>= 'A' and <= 'F'));

    private static bool IsDecimal(string text, long least, long most) =>
        text.Length is > 0 and < 19 && text.All(char.IsAsciiDigit) && long.Parse(text, CultureInfo.InvariantCulture) is var n && n >= least && n <= most;

    private static bool IsName(string text) => text.Length is >= 1 and <= 16 && text.All(c => char.IsAsciiLetterLower(c) || char.IsAsciiDigit(c) || c == '-');

    // CRC-16/XMODEM, bit by bit.
    private static int Check(byte[] bytes)
    {
        int check = 0;
        foreach (byte b in bytes)
        {
            check ^= b << 8;
            for (int bit = 0; bit < 8; bit++)
                check = ((check & 0x8000) != 0 ? (check << 1) ^ 0x1021 : check << 1) & 0xFFFF;
        }

        return check;
    }
}
