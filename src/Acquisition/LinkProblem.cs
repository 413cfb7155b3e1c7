using System.Buffers.Binary;

namespace Acquire.Acquisition;

/// <summary>Why a port or line could not be opened.</summary>
public enum LinkProblemKind
{
    /// <summary>There is no such thing now.</summary>
    NotThere,

    /// <summary>The user may not open it.</summary>
    Denied,

    /// <summary>Another program has it.</summary>
    Busy,

    /// <summary>The name is something else than a port or chip, or the line cannot do what is wanted.</summary>
    WrongKind,

    /// <summary>A setting is out of range, or cannot be done here.</summary>
    Settings,

    /// <summary>The system refused for another reason.</summary>
    Failed,

    /// <summary>The system lacks a call that the direct way needs, as an emulated one may.</summary>
    NotOffered,
}

/// <summary>Why a port or line could not be opened and what to do about it.</summary>
/// <param name="Kind">The reason, for programs.</param>
/// <param name="Message">The reason and the remedy, for people; one line.</param>
public sealed record LinkProblem(LinkProblemKind Kind, string Message)
{
    private const int StatusBytes = 256;
    private const int StatusGroupOffset = 24;
    private const uint StatusBasic = 0x7FF;
    private const int CurrentFolder = -100;

    /// <summary>What a user to whom a device is shut should do.</summary>
    internal static string HowToGetIn(string? group) => group is null or "root"
        ? "Run as a user who may, or give this one access to it."
        : $"Join group {group}: sudo usermod -aG {group} $USER, then log in again.";

    /// <summary>The name of the group that a file belongs to, its number where it has no name, null where it cannot be read.</summary>
    internal static string? GroupOf(string path)
    {
        Span<byte> status = stackalloc byte[StatusBytes];
        if (!OperatingSystem.IsLinux() || LinuxCalls.Status(CurrentFolder, path, 0, StatusBasic, status) < 0)
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
