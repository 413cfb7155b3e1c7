using System.Runtime.Versioning;
using Acquire.Acquisition.Serial;
using Acquire.Terminals;
using Xunit;

namespace Acquire.Acquisition.Tests.Serial;

[SupportedOSPlatform("linux")]
public sealed class LinuxSerialLinkTests : SerialLinkContract
{
    protected override bool UseSystemPorts => false;

    [Fact]
    public void The_direct_way_is_the_usual_one_on_Linux()
    {
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath);

        Assert.IsType<LinuxSerialLink>(link);
    }

    [Fact]
    public void The_port_is_raw_at_the_rate_asked_for_and_does_not_drop_its_lines_on_closing()
    {
        const uint HangUpOnClose = 0x400; // HUPCL, asm-generic/termbits.h
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath, baud: 123_457);

        LinuxTerminal.Settings settings = default;
        Assert.Equal(0, LinuxTerminal.Control(terminal.Board, LinuxTerminal.GetSettings, ref settings));

        Assert.Equal((123_457u, 123_457u), (settings.InputSpeed, settings.OutputSpeed));
        Assert.Equal((0u, 0u, 0u), (settings.InputFlags, settings.OutputFlags, settings.LocalFlags));
        Assert.Equal(0u, settings.ControlFlags & HangUpOnClose);
    }

    [Fact]
    public void A_write_that_nobody_takes_gives_up()
    {
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath);
        byte[] much = new byte[1 << 20];

        Assert.False(Beside.Run(() => link.Write(much)).Within(5000));
        Beside.Within(5000, link.Dispose);
    }

    [Fact]
    public void A_megabyte_arrives_whole_and_in_order()
    {
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath);
        byte[] sent = new byte[1 << 20];
        new Random(7).NextBytes(sent);
        Beside<bool> writing = Beside.Run(() =>
        {
            terminal.Write(sent);
            return true;
        });
        byte[] got = new byte[sent.Length];
        int length = 0;

        while (length < got.Length && link.Read(got.AsSpan(length), 5000, out int count) == LinkRead.Data)
            length += count;

        Assert.True(writing.Within(5000));
        Assert.Equal(sent, got);
    }
}

[SupportedOSPlatform("linux")]
public sealed class PortsSerialLinkTests : SerialLinkContract
{
    protected override bool UseSystemPorts => true;

    [Fact]
    public void System_ports_are_used_where_asked_for()
    {
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath);

        Assert.IsType<PortsSerialLink>(link);
    }

    [Fact]
    public void A_port_that_cannot_be_closed_after_a_hang_up_is_counted()
    {
        var terminal = new PseudoTerminal();
        ISerialLink link = Open(terminal.PortPath);
        int before = PortsSerialLink.Abandoned;
        terminal.Dispose();
        while (link.Read(new byte[8], 100, out _) != LinkRead.Gone)
        {
        }

        Beside.Within(1000, link.Dispose);

        // The one that hangs is counted until it comes back; one that was closed is not.
        Assert.InRange(PortsSerialLink.Abandoned, before, before + 1);
    }
}
