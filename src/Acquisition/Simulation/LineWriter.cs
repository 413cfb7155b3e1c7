using System.Globalization;
using System.Text;

namespace Acquire.Acquisition.Simulation;

/// <summary>Writes the lines of the pulse line protocol as a board does.</summary>
internal sealed class LineWriter
{
    private readonly byte[] _line = new byte[64];
    private int _length;

    internal ReadOnlyMemory<byte> Line => _line.AsMemory(0, _length);

    internal void Hello(double tickHz, int bits, ushort boot, string name)
    {
        string body = string.Create(CultureInfo.InvariantCulture, $"H,1,{tickHz:F0},{bits},{boot:X4},{name}");
        _length = Encoding.ASCII.GetBytes(body, _line);
        End();
    }

    internal void Pulse(byte sequence, uint tick, uint? width)
    {
        Begin('P');
        Hex(sequence, 2);
        Put(',');
        Hex(tick, 8);
        if (width is uint ticks)
        {
            Put(',');
            Hex(ticks, (35 - uint.LeadingZeroCount(ticks | 1)) / 4);
        }

        End();
    }

    internal void Status(uint tick, uint pulses, ushort dropped)
    {
        Begin('S');
        Put(',');
        Hex(tick, 8);
        Put(',');
        Hex(pulses, 8);
        Put(',');
        Hex(dropped, 4);
        End();
    }

    internal void Time(byte number, uint tick)
    {
        Begin('T');
        Hex(number, 2);
        Put(',');
        Hex(tick, 8);
        End();
    }

    /// <summary>Flips one bit of a byte of the line.</summary>
    internal void Spoil(int at, int bit) => _line[at] ^= (byte)(1 << bit);

    /// <summary>Cuts the line short.</summary>
    internal void Cut(int length) => _length = Math.Min(_length, length);

    private void Begin(char kind)
    {
        _length = 0;
        Put(kind);
    }

    private void Put(char character) => _line[_length++] = (byte)character;

    private void Hex(uint value, uint digits)
    {
        for (int shift = 4 * ((int)digits - 1); shift >= 0; shift -= 4)
        {
            uint digit = (value >> shift) & 0xF;
            _line[_length++] = (byte)(digit < 10 ? '0' + digit : 'A' + digit - 10);
        }
    }

    private void End()
    {
        ushort crc = Crc(_line.AsSpan(0, _length));
        Put('*');
        Hex(crc, 4);
        Put('\n');
    }

    /// <summary>CRC-16/XMODEM, polynomial 0x1021, a byte at a time without a table.</summary>
    private static ushort Crc(ReadOnlySpan<byte> bytes)
    {
        uint crc = 0;
        foreach (byte next in bytes)
        {
            uint x = (crc >> 8) ^ next;
            x ^= x >> 4;
            crc = ((crc << 8) ^ (x << 12) ^ (x << 5) ^ x) & 0xFFFF;
        }

        return (ushort)crc;
    }
}
