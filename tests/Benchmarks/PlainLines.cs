using System.Globalization;
using System.Text;
using Acquire.Acquisition;

namespace Acquire.Benchmarks;

/// <summary>The lines read as one would write it down first: a string for each line, split at the commas, numbers by the library,
/// the check bit by bit. What the decoder is measured against; it knows nothing of restarts or lost lines.</summary>
internal sealed class PlainLines
{
    private long _ticks;
    private uint _last;

    /// <summary>Lines whose check failed.</summary>
    internal int Bad { get; private set; }

    /// <summary>Takes a line; true where it was a pulse.</summary>
    internal bool TryParse(string line, out Pulse pulse)
    {
        pulse = default;
        string[] parts = line.Split('*');
        if (parts.Length != 2 || Check(Encoding.ASCII.GetBytes(parts[0])) != ushort.Parse(parts[1], NumberStyles.HexNumber, CultureInfo.InvariantCulture))
        {
            Bad++;
            return false;
        }

        string[] fields = parts[0].Split(',');
        if (fields[0][0] != 'P')
            return false;
        uint tick = uint.Parse(fields[1], NumberStyles.HexNumber, CultureInfo.InvariantCulture);
        _ticks += unchecked(tick - _last); // the counter wraps
        _last = tick;
        uint width = fields.Length > 2 ? uint.Parse(fields[2], NumberStyles.HexNumber, CultureInfo.InvariantCulture) : 0;
        pulse = new Pulse(_ticks, width, short.Parse(fields[0][1..], NumberStyles.HexNumber, CultureInfo.InvariantCulture));
        return true;
    }

    private static ushort Check(byte[] bytes)
    {
        int crc = 0;
        foreach (byte value in bytes)
        {
            crc ^= value << 8;
            for (int bit = 0; bit < 8; bit++)
                crc = ((crc & 0x8000) != 0 ? (crc << 1) ^ 0x1021 : crc << 1) & 0xFFFF;
        }

        return (ushort)crc;
    }
}
