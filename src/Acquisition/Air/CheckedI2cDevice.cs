using System.Device.I2c;

namespace Acquire.Acquisition.Air;

/// <summary>A device on the bus that keeps what was read of it, and has each answer looked at before the driver sees it: the drivers pass over
/// a check sum that fails, and take what a sensor holds after a reset for a measurement.</summary>
/// <param name="inner">The device.</param>
/// <param name="check">Looks at an answer: the register that was asked for, -1 where none was, and the bytes. Throws what is wrong.</param>
internal sealed class CheckedI2cDevice(I2cDevice inner, Action<int, ReadOnlySpan<byte>> check) : I2cDevice
{
    private readonly List<byte> _answers = [];
    private int _register = -1;

    public override I2cConnectionSettings ConnectionSettings => inner.ConnectionSettings;

    /// <summary>All bytes that were read since <see cref="Forget"/>.</summary>
    public byte[] Answers => [.. _answers];

    public void Forget() => _answers.Clear();

    public override byte ReadByte()
    {
        Span<byte> one = [inner.ReadByte()];
        Look(one);
        return one[0];
    }

    public override void Read(Span<byte> buffer)
    {
        inner.Read(buffer);
        Look(buffer);
    }

    public override void WriteByte(byte value)
    {
        inner.WriteByte(value);
        _register = value;
    }

    public override void Write(ReadOnlySpan<byte> buffer)
    {
        inner.Write(buffer);
        _register = buffer.Length == 1 ? buffer[0] : -1;
    }

    public override void WriteRead(ReadOnlySpan<byte> writeBuffer, Span<byte> readBuffer)
    {
        inner.WriteRead(writeBuffer, readBuffer);
        _register = writeBuffer.Length == 1 ? writeBuffer[0] : -1;
        Look(readBuffer);
    }

    protected override void Dispose(bool disposing)
    {
        if (disposing)
            inner.Dispose();
        base.Dispose(disposing);
    }

    private void Look(ReadOnlySpan<byte> answer)
    {
        foreach (byte b in answer)
            _answers.Add(b);
        check(_register, answer);
    }
}
