using System.Device.I2c;

namespace Acquire.Acquisition.Tests.Air;

/// <summary>A BME280 or BMP280 on a bus: its registers, a pointer that moves on with each byte read, and a measurement when it is told to make one. Map and
/// bits: Bosch BST-BME280-DS002, section 5, and BST-BMP280-DS001, section 4 (from memory).</summary>
internal sealed class BoschChip : I2cDevice
{
    private const byte Number = 0xD0, Reset = 0xE0, ControlHumidity = 0xF2, Control = 0xF4, Data = 0xF7;
    private const byte ResetWord = 0xB6;
    private readonly byte[] _registers = new byte[256];
    private int _pointer;

    public BoschChip(byte number)
    {
        _registers[Number] = number;
        PowerUp();
    }

    public int RawTemperature { get; set; }

    public int RawPressure { get; set; }

    public int RawHumidity { get; set; }

    /// <summary>What comes before each transfer: throws, or spoils something.</summary>
    public Action<BoschChip>? Before { get; set; }

    public int Measurements { get; private set; }

    public bool IsDisposed { get; private set; }

    public byte this[int register]
    {
        get => _registers[register];
        set => _registers[register] = value;
    }

    public override I2cConnectionSettings ConnectionSettings { get; } = new(1, 0x76);

    /// <summary>The calibration and the raw values of the worked example in the BMP280's data sheet: 25.08 °C, 100653.27 Pa.</summary>
    public static BoschChip OfExample(byte number)
    {
        var chip = new BoschChip(number) { RawTemperature = 519888, RawPressure = 415148, RawHumidity = 27000 };
        chip.SetWords(0x88, 27504, 26435, -1000, 36477, -10685, 3024, 2855, 140, -7, 15500, -14600, 6000);
        chip.SetHumidityWords(75, 360, 0, 325, 50, 30);
        return chip;
    }

    public void SetHumidityWords(byte h1, short h2, byte h3, int h4, int h5, sbyte h6)
    {
        this[0xA1] = h1;
        SetWords(0xE1, h2);
        this[0xE3] = h3;
        this[0xE4] = unchecked((byte)(h4 >> 4)); // the bits of two numbers that share a register
        this[0xE5] = unchecked((byte)((h4 & 0xF) | (h5 << 4)));
        this[0xE6] = unchecked((byte)(h5 >> 4));
        this[0xE7] = unchecked((byte)h6);
    }

    /// <summary>What a supply that went away for a moment leaves.</summary>
    public void PowerUp()
    {
        (this[ControlHumidity], this[Control], this[0xF5]) = (0, 0, 0);
        new byte[] { 0x80, 0, 0, 0x80, 0, 0, 0x80, 0 }.CopyTo(_registers, Data);
    }

    public override void Read(Span<byte> buffer)
    {
        Before?.Invoke(this);
        for (int i = 0; i < buffer.Length; i++)
            buffer[i] = _registers[_pointer++ & 0xFF];
    }

    public override void Write(ReadOnlySpan<byte> buffer)
    {
        Before?.Invoke(this);
        _pointer = buffer[0];
        for (int i = 1; i < buffer.Length; i++)
            Set(buffer[0], buffer[i]);
    }

    public override void WriteRead(ReadOnlySpan<byte> writeBuffer, Span<byte> readBuffer)
    {
        Write(writeBuffer);
        Read(readBuffer);
    }

    protected override void Dispose(bool disposing)
    {
        IsDisposed = true;
        base.Dispose(disposing);
    }

    private void SetWords(int at, params int[] words)
    {
        foreach (int word in words)
        {
            _registers[at++] = unchecked((byte)word);
            _registers[at++] = unchecked((byte)(word >> 8));
        }
    }

    private void Set(byte register, byte value)
    {
        if (register == Reset && value == ResetWord)
            PowerUp();
        else
            _registers[register] = value;
        if (register == Control && (value & 3) is 1 or 2)
            Measure();
    }

    // A quantity that is not to be measured keeps the value of a reset; then the chip sleeps.
    private void Measure()
    {
        Measurements++;
        int control = this[Control];
        Put(Data, ((control >> 2) & 7) == 0 ? 0x80000 : RawPressure);
        Put(Data + 3, control >> 5 == 0 ? 0x80000 : RawTemperature);
        int humidity = (this[ControlHumidity] & 7) == 0 ? 0x8000 : RawHumidity;
        (_registers[Data + 6], _registers[Data + 7]) = ((byte)(humidity >> 8), unchecked((byte)humidity));
        this[Control] &= 0xFC;
    }

    private void Put(int at, int value) => (_registers[at], _registers[at + 1], _registers[at + 2]) =
        ((byte)(value >> 12), unchecked((byte)(value >> 4)), unchecked((byte)(value << 4)));
}
