namespace Acquire.Acquisition.Lines;

/// <summary>Hexadecimal digits of lines.</summary>
internal static class Hex
{
    private const byte NoDigit = 0xFF;
    private static readonly byte[] Upper = MakeTable(lowerToo: false);
    private static readonly byte[] Any = MakeTable(lowerToo: true);

    /// <summary>Reads 1 to 8 digits, capitals only.</summary>
    internal static bool TryUpper(ReadOnlySpan<byte> digits, out uint value) => TryRead(Upper, digits, out value);

    /// <summary>Reads 1 to 8 digits, capitals or small.</summary>
    internal static bool TryAny(ReadOnlySpan<byte> digits, out uint value) => TryRead(Any, digits, out value);

    private static bool TryRead(ReadOnlySpan<byte> table, ReadOnlySpan<byte> digits, out uint value)
    {
        uint sum = 0;
        uint all = 0;
        foreach (byte digit in digits)
        {
            uint worth = table[digit];
            all |= worth;
            sum = (sum << 4) | (worth & 0xF);
        }

        value = sum;
        return all < 16 && digits.Length is >= 1 and <= 8;
    }

    private static byte[] MakeTable(bool lowerToo)
    {
        var table = new byte[256];
        Array.Fill(table, NoDigit);
        for (int digit = 0; digit < 16; digit++)
        {
            table["0123456789ABCDEF"[digit]] = (byte)digit;
            if (lowerToo)
                table["0123456789abcdef"[digit]] = (byte)digit;
        }

        return table;
    }
}
