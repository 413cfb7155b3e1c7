using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Microsoft.Win32.SafeHandles;

namespace Acquire.Acquisition.Gpio;

/// <summary>A GPIO chip as the kernel shows it now.</summary>
/// <param name="Path">The device's path.</param>
/// <param name="Name">The kernel's name, such as <c>gpiochip0</c>; its number may be another after the next start of the computer.</param>
/// <param name="Label">What the driver calls it; stays the same. Empty where the chip may not be opened.</param>
/// <param name="Lines">Its lines in order; empty where it may not be opened.</param>
/// <param name="Problem">Why it cannot be opened; null where it can.</param>
public sealed record GpioChip(string Path, string Name, string Label, IReadOnlyList<GpioLineInfo> Lines, LinkProblem? Problem = null)
{
    /// <summary>Other paths of the same device.</summary>
    public IReadOnlyList<string> Aliases { get; init; } = [];
}

/// <summary>A line of a chip as the kernel shows it now.</summary>
/// <param name="Offset">Its number on the chip, from 0.</param>
/// <param name="Name">Its name; empty where it has none.</param>
/// <param name="Consumer">Who holds it, as that calls itself; empty where nobody does or the holder gives no name.</param>
/// <param name="IsUsed">True where it cannot be had.</param>
public sealed record GpioLineInfo(int Offset, string Name, string Consumer, bool IsUsed);

/// <summary>Says which GPIO chips there are.</summary>
public static class GpioChips
{
    private const string Devices = "/dev";
    private const string Prefix = "gpiochip";

    /// <summary>The chips in the order of their numbers; none off Linux.</summary>
    public static IReadOnlyList<GpioChip> List()
    {
        if (!OperatingSystem.IsLinux())
            return [];
        var chips = new List<GpioChip>();
        IEnumerable<string> paths = Directory.EnumerateFileSystemEntries(Devices, Prefix + "*");
        foreach (IGrouping<string, string> same in paths.GroupBy(Real).OrderBy(same => Number(same.Key)).ThenBy(same => same.Key, StringComparer.Ordinal))
        {
            if (Read(same.Key) is { } chip)
                chips.Add(chip with { Aliases = [.. same.Where(path => path != same.Key)] });
        }

        return chips;
    }

    /// <summary>The number at the end of a chip's name; the largest where it has none.</summary>
    internal static int Number(string name) =>
        int.TryParse(name.AsSpan(name.LastIndexOf(Prefix, StringComparison.Ordinal) is var at and >= 0 ? at + Prefix.Length : name.Length), out int number)
            ? number
            : int.MaxValue;

    [SupportedOSPlatform("linux")]
    internal static SafeFileHandle Open(string path) => LinuxCalls.Open(path, LinuxCalls.OpenReadWrite | LinuxCalls.OpenCloseOnExec);

    private static string Real(string path)
    {
        try
        {
            return File.ResolveLinkTarget(path, returnFinalTarget: true)?.FullName ?? path;
        }
        catch (IOException)
        {
            return path;
        }
    }

    // Null where it went away since its name was read, or is no such chip.
    [SupportedOSPlatform("linux")]
    private static unsafe GpioChip? Read(string path)
    {
        string name = Path.GetFileName(path);
        using SafeFileHandle device = Open(path);
        if (device.IsInvalid)
        {
            int error = Marshal.GetLastPInvokeError();
            return error is LinuxCalls.ErrorNoEntry or LinuxCalls.ErrorNoDevice or LinuxCalls.ErrorNoDeviceOrAddress
                ? null
                : new GpioChip(path, name, "", [], GpioProblem.ChipRefused(path, error));
        }

        var chip = default(LinuxGpio.ChipInfo);
        if (LinuxGpio.Call(device, LinuxGpio.GetChipInfo, ref chip) < 0)
            return null;
        var lines = new List<GpioLineInfo>();
        for (uint offset = 0; offset < chip.Lines; offset++)
        {
            var line = new LinuxGpio.LineInfo { Offset = offset };
            if (LinuxGpio.Call(device, LinuxGpio.GetLineInfo, ref line) < 0)
                return new GpioChip(path, name, LinuxGpio.Text(chip.Label), [], GpioProblem.TooOld(path, Marshal.GetLastPInvokeError()));
            lines.Add(new GpioLineInfo((int)offset, LinuxGpio.Text(line.Name), LinuxGpio.Text(line.Consumer), (line.Flags & LinuxGpio.Used) != 0));
        }

        return new GpioChip(path, LinuxGpio.Text(chip.Name), LinuxGpio.Text(chip.Label), lines);
    }
}
