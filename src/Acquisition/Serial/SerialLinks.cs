using System.Diagnostics.CodeAnalysis;
using System.IO.Ports;

namespace Acquire.Acquisition.Serial;

/// <summary>Opens serial ports and says which there are.</summary>
public static class SerialLinks
{
    private const string NamedPorts = "/dev/serial/by-id";

    /// <summary>Opens a port: on Linux directly; elsewhere, where asked to, and where an emulated Linux lacks the calls (qemu's user mode knows no termios2 in
    /// version 7.2), through System.IO.Ports.</summary>
    /// <returns>False where it cannot be opened now; <paramref name="problem"/> then says why and what to do.</returns>
    public static bool TryOpen(
        SerialSettings settings, [NotNullWhen(true)] out ISerialLink? link, [NotNullWhen(false)] out LinkProblem? problem)
    {
        link = null;
        problem = Check(settings);
        if (problem is not null)
            return false;
        PortLock? portLock = PortLock.TryTake(settings.Port, settings.LockFolder, out string? holder);
        if (portLock is null)
        {
            problem = SerialProblem.Busy(settings.Port, holder);
            return false;
        }

        link = OperatingSystem.IsLinux() && !settings.UseSystemPorts
            ? LinuxSerialLink.Open(settings, portLock, out problem)
            : PortsSerialLink.Open(settings, portLock, out problem);
        if (problem is { Kind: LinkProblemKind.NotOffered })
            link = PortsSerialLink.Open(settings, portLock, out problem);
        if (link is not null)
            return true;
        portLock.Dispose();
        problem ??= SerialProblem.Failed(settings.Port, "the system gave no reason.");
        return false;
    }

    /// <summary>The ports that there are now: stable names of USB adapters first where the system keeps such, then the plain ones.</summary>
    public static IReadOnlyList<string> PortNames()
    {
        var names = new List<string>();
        if (Directory.Exists(NamedPorts))
            names.AddRange(Directory.GetFileSystemEntries(NamedPorts).Order(StringComparer.Ordinal));
        try
        {
            names.AddRange(SerialPort.GetPortNames().Distinct().Order(StringComparer.Ordinal));
        }
        catch (Exception problem) when (problem is IOException or UnauthorizedAccessException or PlatformNotSupportedException)
        {
            // A system that does not tell leaves the list shorter.
        }

        return names;
    }

    /// <summary>The path with its links followed, so that two names of one port are seen to be one.</summary>
    internal static string RealPath(string port)
    {
        try
        {
            return File.ResolveLinkTarget(port, returnFinalTarget: true)?.FullName ?? (OperatingSystem.IsWindows() ? port : Path.GetFullPath(port));
        }
        catch (IOException)
        {
            return port;
        }
    }

    private static LinkProblem? Check(SerialSettings settings)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(settings.Port);
        if (settings.Baud is < SerialSettings.SlowestBaud or > SerialSettings.FastestBaud)
            return SerialProblem.BaudOutOfRange(settings.Baud);
        if (OperatingSystem.IsWindows() || File.Exists(settings.Port))
            return null;
        return Directory.Exists(settings.Port)
            ? SerialProblem.NotASerialPort(settings.Port)
            : SerialProblem.NotThere(settings.Port, PortNames());
    }
}
