using System.Globalization;

namespace Acquire.Acquisition.Air;

/// <summary>The kinds of sensors that can be read.</summary>
public enum AirSensorKind
{
    /// <summary>Bosch BME280: temperature, pressure, humidity.</summary>
    Bme280,

    /// <summary>Bosch BMP280: temperature, pressure.</summary>
    Bmp280,

    /// <summary>Sensirion SHT30, SHT31, SHT35: temperature, humidity.</summary>
    Sht3x,

    /// <summary>Sensirion SHT40, SHT41, SHT45: temperature, humidity.</summary>
    Sht4x,
}

/// <summary>A sensor of the air on an I²C bus; as text <c>bme280@1:0x76</c>.</summary>
/// <param name="Kind">What it is.</param>
/// <param name="Bus">Number of the bus: N of /dev/i2c-N.</param>
/// <param name="Address">Its address, 7 bits: 0x08 to 0x77, the others are reserved (NXP UM10204, table 4, from memory).</param>
public sealed record AirSensorName(AirSensorKind Kind, int Bus, int Address)
{
    private const int FirstAddress = 0x08;
    private const int LastAddress = 0x77;
    private const int LastBus = 255;

    /// <summary>What is allowed, for people.</summary>
    public const string Allowed = "KIND@BUS:ADDRESS such as bme280@1:0x76, several with commas between, each at an address of its own; KIND is bme280, bmp280, sht3x or sht4x";

    /// <summary>True where it measures pressure.</summary>
    public bool HasPressure => Kind is AirSensorKind.Bme280 or AirSensorKind.Bmp280;

    /// <summary>True where it measures humidity.</summary>
    public bool HasHumidity => Kind is not AirSensorKind.Bmp280;

    /// <summary>Reads one or more with commas between.</summary>
    /// <returns>Null where the text is none, or names one place twice.</returns>
    public static IReadOnlyList<AirSensorName>? List(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        var names = new List<AirSensorName>();
        foreach (string part in text.Split(',', StringSplitOptions.TrimEntries))
        {
            if (One(part) is not { } name || names.Exists(n => (n.Bus, n.Address) == (name.Bus, name.Address)))
                return null;
            names.Add(name);
        }

        return names;
    }

    /// <inheritdoc/>
    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"{Kind.ToString().ToLowerInvariant()}@{Bus}:0x{Address:x2}");

    private static AirSensorName? One(string text)
    {
        if (text.Split('@') is not [var kindText, var place] || place.Split(':') is not [var busText, var addressText])
            return null;
        AirSensorKind[] kinds = [.. Enum.GetValues<AirSensorKind>().Where(k => k.ToString().Equals(kindText, StringComparison.OrdinalIgnoreCase))];
        return kinds.Length == 1
            && int.TryParse(busText, NumberStyles.None, CultureInfo.InvariantCulture, out int bus) && bus <= LastBus
            && AddressOf(addressText) is { } address and >= FirstAddress and <= LastAddress
            ? new AirSensorName(kinds[0], bus, address)
            : null;
    }

    private static int? AddressOf(string text)
    {
        bool isHex = text.StartsWith("0x", StringComparison.OrdinalIgnoreCase);
        return int.TryParse(isHex ? text.AsSpan(2) : text, isHex ? NumberStyles.AllowHexSpecifier : NumberStyles.None, CultureInfo.InvariantCulture, out int address)
            ? address
            : null;
    }
}
