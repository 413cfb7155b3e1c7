using System.Runtime.InteropServices;

namespace Acquire.Acquisition.Gpio;

/// <summary>Why a GPIO line could not be had and what to do about it.</summary>
internal static class GpioProblem
{
    private const int MostNamed = 40;

    internal static LinkProblem NoSuchChip(string chip, IReadOnlyList<GpioChip> there) => new(
        LinkProblemKind.NotThere,
        $"GPIO chip {chip} is not there. " + (there.Count == 0
            ? "No GPIO chip is: this computer has none, or its driver is not loaded."
            : $"There are: {string.Join(", ", there.Select(Called))}."));

    internal static LinkProblem Ambiguous(string chip, IReadOnlyList<GpioChip> found) => new(
        LinkProblemKind.Settings,
        $"Several GPIO chips are called {chip}: {string.Join(", ", found.Select(Called))}. Name one by its number.");

    internal static LinkProblem NoSuchLine(string line, GpioChip chip, IReadOnlyList<GpioLineInfo> found) => new(
        LinkProblemKind.Settings,
        found.Count > 1
            ? $"Several lines of GPIO chip {Called(chip)} are called {line}: {string.Join(", ", found.Select(one => one.Offset))}. Name one by its number."
            : $"GPIO chip {Called(chip)} has no line {line}. It has the lines 0 to {chip.Lines.Count - 1}{Names(chip)}.");

    internal static LinkProblem Busy(GpioChip chip, GpioLineInfo line) => new(
        LinkProblemKind.Busy,
        $"{Called(chip, line)} is held by {(line.Consumer.Length > 0 ? $"'{line.Consumer}'" : "another program or driver")}. End that, or choose another line.");

    internal static LinkProblem NoEdges(GpioChip chip, GpioLineInfo line) => new(
        LinkProblemKind.WrongKind,
        $"{Called(chip, line)} cannot tell edges: the chip has no interrupt for it. Choose another line.");

    internal static LinkProblem TooOld(string chip, int error) => new(
        LinkProblemKind.WrongKind,
        $"{chip} does not answer as a GPIO chip of Linux 5.10 or later does ({Reason(error)}).");

    internal static LinkProblem ChipRefused(string path, int error) => error is LinuxCalls.ErrorAccess or LinuxCalls.ErrorNotPermitted
        ? new(LinkProblemKind.Denied, $"GPIO chip {path} may not be opened by this user. " + LinkProblem.HowToGetIn(LinkProblem.GroupOf(path)))
        : new(LinkProblemKind.Failed, $"GPIO chip {path} could not be opened: {Reason(error)}.");

    /// <summary>The problem that an error number stands for which the kernel refused a line with.</summary>
    internal static LinkProblem LineRefused(GpioChip chip, GpioLineInfo line, int error) => error switch
    {
        LinuxCalls.ErrorBusy => Busy(chip, line),
        LinuxCalls.ErrorNoDeviceOrAddress => NoEdges(chip, line),
        LinuxCalls.ErrorNoDevice => NoSuchChip(chip.Name, []),
        LinuxCalls.ErrorInvalid or LinuxCalls.ErrorNotATerminal => TooOld(chip.Path, error),
        LinuxCalls.ErrorAccess or LinuxCalls.ErrorNotPermitted => ChipRefused(chip.Path, error),
        _ => new LinkProblem(LinkProblemKind.Failed, $"{Called(chip, line)} could not be had: {Reason(error)}."),
    };

    internal static LinkProblem Away(string line) => new(
        LinkProblemKind.NotThere, $"{line} went away: its chip or driver was removed. It is looked for until it is back.");

    /// <summary>A line as people read it.</summary>
    internal static string Called(GpioChip chip, GpioLineInfo line) =>
        $"Line {line.Offset}{(line.Name.Length > 0 ? $" ({line.Name})" : "")} of GPIO chip {Called(chip)}";

    private static string Called(GpioChip chip) =>
        chip.Label.Length > 0 ? $"{chip.Name} ({chip.Label})" : chip.Name;

    private static string Names(GpioChip chip)
    {
        string[] named = [.. chip.Lines.Where(line => line.Name.Length > 0).Select(line => line.Name)];
        return named.Length == 0 ? "" : $", named {string.Join(", ", named.Take(MostNamed))}{(named.Length > MostNamed ? " …" : "")}";
    }

    private static string Reason(int error) => Marshal.GetPInvokeErrorMessage(error);
}
