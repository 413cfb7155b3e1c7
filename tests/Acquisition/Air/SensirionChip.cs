using System.Device.I2c;
using Acquire.Acquisition.Air;

namespace Acquire.Acquisition.Tests.Air;

/// <summary>An SHT3x or SHT4x on a bus: a command makes it measure, the read that follows gives two words, each with its check sum.</summary>
internal sealed class SensirionChip : I2cDevice
{
    private bool _measured;

    public ushort RawTemperature { get; set; }

    public ushort RawHumidity { get; set; }

    /// <summary>Bits of the six bytes that turn over on the way.</summary>
    public byte[] Noise { get; set; } = new byte[6];

    public List<byte[]> Commands { get; } = [];

    public override I2cConnectionSettings ConnectionSettings { get; } = new(1, 0x44);

    public override void Write(ReadOnlySpan<byte> buffer)
    {
        Commands.Add(buffer.ToArray());
        _measured = buffer[0] is 0x24 or 0xFD or 0xF6 or 0xE0;
    }

    public override void Read(Span<byte> buffer)
    {
        if (!_measured)
            throw new IOException("Error 121 performing I2C data transfer."); // it does not acknowledge
        byte[] t = [(byte)(RawTemperature >> 8), (byte)(RawTemperature & 0xFF)];
        byte[] h = [(byte)(RawHumidity >> 8), (byte)(RawHumidity & 0xFF)];
        byte[] all = [.. t, SensirionAirSensor.CheckSum(t), .. h, SensirionAirSensor.CheckSum(h)];
        for (int i = 0; i < buffer.Length; i++)
            buffer[i] = (byte)(all[i] ^ Noise[i]);
    }

    public override void WriteRead(ReadOnlySpan<byte> writeBuffer, Span<byte> readBuffer)
    {
        Write(writeBuffer);
        Read(readBuffer);
    }
}
