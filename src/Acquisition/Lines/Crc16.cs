namespace Acquire.Acquisition.Lines;

/// <summary>The check of a pulse line: CRC-16/XMODEM, polynomial 0x1021, initial value 0, nothing reflected or inverted; four bytes a step
/// from four tables.</summary>
public static class Crc16
{
    private const int Polynomial = 0x1021;
    private const int Step = 4;
    private static readonly ushort[] Tables = MakeTables();

    /// <summary>The check of <paramref name="bytes"/>; that of <c>123456789</c> is 0x31C3.</summary>
    public static ushort Of(ReadOnlySpan<byte> bytes)
    {
        ReadOnlySpan<ushort> tables = Tables;
        uint crc = 0;
        while (bytes.Length >= Step)
        {
            crc = (uint)(tables[768 + (int)((crc >> 8) ^ bytes[0])] ^ tables[512 + (int)((crc & 0xFF) ^ bytes[1])]
                ^ tables[256 + bytes[2]] ^ tables[bytes[3]]);
            bytes = bytes[Step..];
        }

        foreach (byte value in bytes)
            crc = ((crc << 8) & 0xFFFF) ^ tables[(int)((crc >> 8) ^ value)];
        return (ushort)crc;
    }

    /// <summary>Table k holds the check of each byte followed by k zero bytes.</summary>
    private static ushort[] MakeTables()
    {
        var tables = new ushort[Step * 256];
        for (int value = 0; value < 256; value++)
        {
            int crc = value << 8;
            for (int table = 0; table < Step; table++)
            {
                for (int bit = 0; bit < 8; bit++)
                    crc = ((crc << 1) ^ ((crc & 0x8000) != 0 ? Polynomial : 0)) & 0xFFFF;
                tables[(table * 256) + value] = (ushort)crc;
            }
        }

        return tables;
    }
}
