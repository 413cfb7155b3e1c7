using System.Buffers.Binary;

namespace Acquire.Acquisition.Serial;

/// <summary>Why a port could not be opened.</summary>
public enum SerialProblemKind
{
    /// <summary>There is no such port now.</summary>
    NotThere,

    /// <summary>The user may not open it.</summary>
    Denied,

    /// <summary>Another program has it.</summary>
    Busy,

    /// <summary>The name is something else than a serial port.</summary>
    NotASerialPort,

    /// <summary>A setting is out of range, or the port cannot do it.</summary>
    Settings,

    /// <summary>The system refused for another reason.</summary>
    Failed,

    /// <summary>The system lacks a call that the direct way needs, as an emulated one may.</summary>
    NotOffered,
}

/// <summary>Why a port could not be opened and what to do about it.</summary>
/// <param name="Kind">The reason, for programs.</param>
/// <param name="Message">The reason and the remedy, for people; one line.</param>
public sealed record SerialProblem(SerialProblemKind Kind, string Message)
{
    /// <summary>The furthest that a port's rate may be off the one asked for; an 8N1 receiver loses the last bit at about 5 %, half
    /// of it for each side.</summary>
    internal const double LargestBaudError = 0.025;

    private const int StatusBytes = 256;
    private const int StatusGroupOffset = 24;
    private const uint StatusBasic = 0x7FF;
    private const int CurrentFolder = -100;

    internal static SerialProblem NotThere(string port, IReadOnlyList<string> there) => new(
        SerialProblemKind.NotThere,
        $"Port {port} is not there. " + (there.Count == 0
            ? "No serial port is: plug the board in, and try another cable if it stays away (some only charge)."
            : $"There are: {string.Join(", ", there)}."));

    internal static SerialProblem Denied(string port, string? group) => new(
        SerialProblemKind.Denied,
        $"Port {port} may not be opened by this user. " + (group is null or "root"
            ? "Run as a user who may, or give this one access to it."
            : $"Join group {group}: sudo usermod -aG {group} $USER, then log in again."));

    internal static SerialProblem Busy(string port, string? holder) => new(
        SerialProblemKind.Busy,
        $"Port {port} is held by {holder ?? "another program"}. Close that, or choose another port.");

    internal static SerialProblem WrongBaud(string port, int asked, double given) => new(
        SerialProblemKind.Settings,
        $"Port {port} cannot run at {asked} baud; it offers {given:0}. Choose a rate that the adapter has, on the board too.");

    internal static SerialProblem BaudOutOfRange(int asked) => new(
        SerialProblemKind.Settings,
        $"{asked} baud is out of range: {SerialSettings.SlowestBaud} to {SerialSettings.FastestBaud} can be asked for.");

    internal static SerialProblem NotASerialPort(string port) => new(
        SerialProblemKind.NotASerialPort,
        $"{port} is not a serial port. Give one, for example from /dev/serial/by-id.");

    internal static SerialProblem TooManyAbandoned(int abandoned) => new(
        SerialProblemKind.Failed,
        $"{abandoned} ports that were unplugged could not be closed. Start the program again.");

    internal static SerialProblem Failed(string port, string reason) => new(
        SerialProblemKind.Failed, $"Port {port} could not be opened: {reason}");

    /// <summary>The problem that an error number of the Linux kernel stands for.</summary>
    internal static SerialProblem FromError(string port, int error) => error switch
    {
        LinuxTerminal.ErrorNoEntry or LinuxTerminal.ErrorNoDeviceOrAddress or LinuxTerminal.ErrorNoDevice
            or LinuxTerminal.ErrorInputOutput => NotThere(port, SerialLinks.PortNames()),
        LinuxTerminal.ErrorAccess or LinuxTerminal.ErrorNotPermitted => Denied(port, GroupOf(port)),
        LinuxTerminal.ErrorBusy => Busy(port, PortHolder.Find(port)),
        LinuxTerminal.ErrorNotATerminal => NotASerialPort(port),
        LinuxTerminal.ErrorNotImplemented => new(SerialProblemKind.NotOffered, $"Port {port} cannot be opened directly: this system lacks the calls."),
        _ => Failed(port, System.Runtime.InteropServices.Marshal.GetPInvokeErrorMessage(error) + "."),
    };

    /// <summary>The name of the group that a file belongs to, its number where it has no name, null where it cannot be read.</summary>
    internal static string? GroupOf(string path)
    {
        Span<byte> status = stackalloc byte[StatusBytes];
        if (!OperatingSystem.IsLinux() || LinuxTerminal.Status(CurrentFolder, path, 0, StatusBasic, status) < 0)
            return null;
        string number = BinaryPrimitives.ReadUInt32LittleEndian(status[StatusGroupOffset..]).ToString();
        try
        {
            string? entry = File.ReadLines("/etc/group").FirstOrDefault(line => line.Split(':') is [_, _, var id, ..] && id == number);
            return entry?.Split(':')[0] ?? number;
        }
        catch (IOException)
        {
            return number;
        }
    }
}
