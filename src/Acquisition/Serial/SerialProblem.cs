namespace Acquire.Acquisition.Serial;

/// <summary>Why a serial port could not be opened and what to do about it.</summary>
internal static class SerialProblem
{
    /// <summary>The furthest that a port's rate may be off the one asked for; an 8N1 receiver loses the last bit at about 5 %, half
    /// of it for each side.</summary>
    internal const double LargestBaudError = 0.025;

    internal static LinkProblem NotThere(string port, IReadOnlyList<string> there) => new(
        LinkProblemKind.NotThere,
        $"Port {port} is not there. " + (there.Count == 0
            ? "No serial port is: plug the board in, and try another cable if it stays away (some only charge)."
            : $"There are: {string.Join(", ", there)}."));

    internal static LinkProblem Denied(string port, string? group) => new(
        LinkProblemKind.Denied,
        $"Port {port} may not be opened by this user. " + LinkProblem.HowToGetIn(group));

    internal static LinkProblem Busy(string port, string? holder) => new(
        LinkProblemKind.Busy,
        $"Port {port} is held by {holder ?? "another program"}. Close that, or choose another port.");

    internal static LinkProblem WrongBaud(string port, int asked, double given) => new(
        LinkProblemKind.Settings,
        $"Port {port} cannot run at {asked} baud; it offers {given:0}. Choose a rate that the adapter has, on the board too.");

    internal static LinkProblem BaudOutOfRange(int asked) => new(
        LinkProblemKind.Settings,
        $"{asked} baud is out of range: {SerialSettings.SlowestBaud} to {SerialSettings.FastestBaud} can be asked for.");

    internal static LinkProblem NotASerialPort(string port) => new(
        LinkProblemKind.WrongKind,
        $"{port} is not a serial port. Give one, for example from /dev/serial/by-id.");

    internal static LinkProblem TooManyAbandoned(int abandoned) => new(
        LinkProblemKind.Failed,
        $"{abandoned} ports that were unplugged could not be closed. Start the program again.");

    internal static LinkProblem Failed(string port, string reason) => new(
        LinkProblemKind.Failed, $"Port {port} could not be opened: {reason}");

    /// <summary>The problem that an error number of the Linux kernel stands for.</summary>
    internal static LinkProblem FromError(string port, int error) => error switch
    {
        LinuxCalls.ErrorNoEntry or LinuxCalls.ErrorNoDeviceOrAddress or LinuxCalls.ErrorNoDevice
            or LinuxCalls.ErrorInputOutput => NotThere(port, SerialLinks.PortNames()),
        LinuxCalls.ErrorAccess or LinuxCalls.ErrorNotPermitted => Denied(port, LinkProblem.GroupOf(port)),
        LinuxCalls.ErrorBusy => Busy(port, PortHolder.Find(port)),
        LinuxCalls.ErrorNotATerminal => NotASerialPort(port),
        LinuxCalls.ErrorNotImplemented => new(LinkProblemKind.NotOffered, $"Port {port} cannot be opened directly: this system lacks the calls."),
        _ => Failed(port, System.Runtime.InteropServices.Marshal.GetPInvokeErrorMessage(error) + "."),
    };
}
