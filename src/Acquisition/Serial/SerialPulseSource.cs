namespace Acquire.Acquisition.Serial;

/// <summary>Delivers what a serial port says. Where the system names the device itself a port that went away is found under any other name that
/// it comes back by.</summary>
public sealed class SerialPulseSource : LinkPulseSource
{
    private readonly SerialSettings _settings;
    private readonly PortFinder _finder;
    private string _port;

    /// <summary>Makes a source that begins with <see cref="LinkPulseSource.Start"/>.</summary>
    /// <param name="settings">The port and how to open it.</param>
    /// <param name="waitForPort">Where the port cannot be opened at first, keep trying; else the source ends at once, with a
    /// <see cref="SourceBlockKind.LinkLost"/> block that says why.</param>
    /// <param name="time">The clock that stamps the blocks.</param>
    /// <param name="blocks">Where the blocks go; null for a ring of the usual size.</param>
    public SerialPulseSource(SerialSettings settings, bool waitForPort, TimeProvider time, BlockRing? blocks = null)
        : base(waitForPort, time, blocks)
    {
        ArgumentNullException.ThrowIfNull(settings);
        _settings = settings;
        _port = settings.Port;
        _finder = new PortFinder(settings.Port, settings.NamedPortsFolder);
    }

    /// <inheritdoc/>
    public override string Kind => "serial";

    /// <inheritdoc/>
    public override string Detail => $"{_settings.Port} at {_settings.Baud} baud";

    /// <inheritdoc/>
    public override void Ask(ReadOnlySpan<byte> question)
    {
        lock (Gate)
        {
            // The block goes first, so that no answer can overtake its question.
            if (Link is ISerialLink link && Blocks.TryWrite(SourceBlockKind.Asked, Time.MonotonicNs(), question))
                link.Write(question);
        }
    }

    private protected override string Lost => $"Port {_port} went away: check the cable; it is looked for until it is back.";

    private protected override ISourceLink? TryOpen(out LinkProblem? problem)
    {
        _port = _finder.Next();
        if (SerialLinks.TryOpen(_settings with { Port = _port }, out ISerialLink? link, out problem))
            _finder.Opened(_port);
        return link;
    }
}
