using System.IO.Ports;
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

[Collection("System.IO.Ports")]
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
    public void A_port_that_was_hung_up_while_a_read_was_pending_is_closed_for_good()
    {
        int before = PortsSerialLink.Abandoned;
        var terminal = new PseudoTerminal();
        ISerialLink link = Open(terminal.PortPath);
        terminal.Dispose();
        while (link.Read(new byte[8], 100, out _) != LinkRead.Gone)
        {
        }

        Beside.Within(1000, link.Dispose);

        Assert.True(SpinWait.SpinUntil(() => PortsSerialLink.Abandoned == before, 5000));
    }

    [Fact]
    public void A_port_whose_closing_never_returns_is_left_behind_and_counted()
    {
        int before = PortsSerialLink.Abandoned;
        var terminal = new PseudoTerminal();
        var port = new SerialPort(terminal.PortPath) { WriteTimeout = 100 };
        port.Open();
        Task<int> read = port.BaseStream.ReadAsync(new byte[8], 0, 8, CancellationToken.None);
        terminal.Dispose();
        Assert.True(SpinWait.SpinUntil(() => read.IsFaulted, 5000));
        _ = read.Exception;
        Assert.Throws<TimeoutException>(() => port.Write("?")); // nobody takes it, and closing waits for it

        ManualResetEventSlim closed = PortsSerialLink.Close(port);

        Assert.False(SpinWait.SpinUntil(() => closed.IsSet, 1000));
        Assert.Equal(before + 1, PortsSerialLink.Abandoned);
    }
}
