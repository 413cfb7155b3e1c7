namespace Acquire.Acquisition.Serial;

/// <summary>How a serial port is opened: always 8 data bits, no parity, 1 stop bit, no flow control.</summary>
public sealed record SerialSettings
{
    /// <summary>The slowest rate that can be asked for, bits a second.</summary>
    public const int SlowestBaud = 300;

    /// <summary>The fastest rate that can be asked for, bits a second.</summary>
    public const int FastestBaud = 4_000_000;

    /// <summary>The port's path (<c>/dev/ttyACM0</c>, a link such as those in <c>/dev/serial/by-id</c>) or name (<c>COM3</c>).</summary>
    public required string Port { get; init; }

    /// <summary>Bits a second, 300 to 4,000,000; on Linux any number, not only the customary ones.</summary>
    public int Baud { get; init; } = 115200;

    /// <summary>Raise the line DTR. Boards with their own USB send only while it is up; many others reset at its edge, which
    /// is why it is left up on closing where the system allows. A terminal without such lines has none to raise.</summary>
    public bool Dtr { get; init; } = true;

    /// <summary>Raise the line RTS. A terminal without such lines has none to raise.</summary>
    public bool Rts { get; init; } = true;

    /// <summary>Use System.IO.Ports on Linux too, for a driver that the direct way does not get on with.</summary>
    public bool UseSystemPorts { get; init; }

    /// <summary>Where the lock file goes that keeps a second capture away from the port; null for <c>/run/lock</c>, or the folder for
    /// temporary files where that cannot be written.</summary>
    public string? LockFolder { get; init; }

    /// <summary>Where the system keeps names of ports that it makes from the device, so that one is known again; need not be there.</summary>
    public string NamedPortsFolder { get; init; } = "/dev/serial/by-id";
}
