using System.Diagnostics.CodeAnalysis;

namespace Acquire.Acquisition.Gpio;

/// <summary>Delivers the edges of a GPIO line with the kernel's stamps. A chip that was removed is found again by its label, whatever number it then has.</summary>
public sealed class GpioPulseSource : LinkPulseSource
{
    private readonly GpioSettings _settings;
    private readonly LineOpener _open;
    private string? _label;
    private string _name;

    /// <summary>Makes a source that begins with <see cref="LinkPulseSource.Start"/>.</summary>
    /// <param name="settings">The line and how to ask for it.</param>
    /// <param name="waitForLine">Where the line cannot be had at first, keep trying; else the source ends at once, with a
    /// <see cref="SourceBlockKind.LinkLost"/> block that says why.</param>
    /// <param name="time">The clock that stamps the blocks; its monotonic clock must be the system's, which stamps the edges.</param>
    /// <param name="blocks">Where the blocks go; null for a ring of the usual size.</param>
    public GpioPulseSource(GpioSettings settings, bool waitForLine, TimeProvider time, BlockRing? blocks = null)
        : this(settings, waitForLine, time, blocks, Open)
    {
    }

    /// <summary>As above, with another way to a line's descriptor.</summary>
    internal GpioPulseSource(GpioSettings settings, bool waitForLine, TimeProvider time, BlockRing? blocks, LineOpener open)
        : base(waitForLine, time, blocks)
    {
        ArgumentNullException.ThrowIfNull(settings);
        if (!GpioSettings.IsLine(settings.Line))
            throw new ArgumentException($"'{settings.Line}' is not CHIP:LINE.", nameof(settings));
        _settings = settings;
        _name = settings.Line;
        _open = open;
    }

    /// <summary>Takes hold of a line.</summary>
    internal delegate ISourceLink? LineOpener(GpioSettings settings, string? label, TimeProvider time, out LinkProblem? problem);

    /// <inheritdoc/>
    public override string Kind => "gpio";

    /// <inheritdoc/>
    public override string Detail => $"{_settings.Line}, {(_settings.Edge == GpioEdge.Rising ? "rising" : "falling")} edge{(_settings.Widths ? " with widths" : "")}";

    private protected override string Lost => GpioProblem.Away(_name).Message;

    private protected override ISourceLink? TryOpen(out LinkProblem? problem)
    {
        ISourceLink? link = _open(_settings, _label, Time, out problem);
        if (link is null)
            return null;
        _name = link.Name;
        if (OperatingSystem.IsLinux() && link is GpioLine { ChipLabel.Length: > 0 } line)
            _label = line.ChipLabel;
        return link;
    }

    [SuppressMessage("Interoperability", "CA1416", Justification = "Asked above.")]
    private static GpioLine? Open(GpioSettings settings, string? label, TimeProvider time, out LinkProblem? problem)
    {
        problem = OperatingSystem.IsLinux() ? null : new LinkProblem(LinkProblemKind.WrongKind, "GPIO lines can be read on Linux only. Use --port with a board here.");
        return problem is null ? GpioLine.TryOpen(settings, label, time, out problem) : null;
    }
}
