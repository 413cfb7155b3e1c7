using System.Text;

namespace Acquire.Acquisition.Tests.Lines;

/// <summary>Writes lines as a board does, with a check worked out bit by bit from the protocol's text, so that it shares nothing with the
/// decoder.</summary>
internal static class BoardWriter
{
    internal static string Line(string body) => $"{body}*{Check(body):X4}\n";

    internal static string Hello(int boot = 0x5A3C, long tickHz = 2_000_000, int bits = 32, string name = "bench") =>
        Line($"H,1,{tickHz},{bits},{boot:X4},{name}");

    internal static string Pulse(int sequence, long tick, uint width = 0) =>
        Line($"P{sequence & 0xFF:X2},{tick & 0xFFFFFFFF:X8}" + (width == 0 ? "" : $",{width:X}"));

    internal static string Status(long tick, long pulses, int dropped = 0) =>
        Line($"S,{tick & 0xFFFFFFFF:X8},{pulses & 0xFFFFFFFF:X8},{dropped & 0xFFFF:X4}");

    internal static string Time(int asked, long tick) => Line($"T{asked:X2},{tick & 0xFFFFFFFF:X8}");

    internal static int Check(string body)
    {
        int crc = 0;
        foreach (byte value in Encoding.ASCII.GetBytes(body))
        {
            for (int bit = 7; bit >= 0; bit--)
            {
                bool high = ((crc >> 15) & 1) != ((value >> bit) & 1);
                crc = ((crc << 1) & 0xFFFF) ^ (high ? 0x1021 : 0);
            }
        }

        return crc;
    }
}
