using System.Runtime.Versioning;
using System.Text;
using Acquire.Acquisition.Lines;
using Acquire.Acquisition.Serial;
using Acquire.Terminals;
using Xunit;

namespace Acquire.Acquisition.Tests.Serial;

/// <summary>What a source over a serial port has to do, whichever way the port is opened.</summary>
[SupportedOSPlatform("linux")]
public abstract class SerialPulseSourceContract : PulseSourceContract, IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("acquire-source-").FullName;
    private readonly PseudoTerminal _terminal = new();

    protected abstract bool UseSystemPorts { get; }

    public void Dispose()
    {
        _terminal.Dispose();
        Directory.Delete(_folder, recursive: true);
        GC.SuppressFinalize(this);
    }

    protected override IPulseSource Create() => Source(_terminal.PortPath);

    protected override ISourceDecoder CreateDecoder() => new PulseLineDecoder(2_000_000);

    protected override void MakePulses() => _terminal.Write("H,1,2000000,32,5A3C,atmega328p*FD49\nP00,00000000*4C99\n");

    [Fact]
    public void An_unplugged_port_is_found_again_where_its_name_points_elsewhere()
    {
        string port = Path.Combine(_folder, "board");
        var first = new PseudoTerminal(link: port);
        using SerialPulseSource source = Source(port);
        source.Start();
        var reader = new BlockReader(source.Blocks);
        Assert.Equal(SourceBlockKind.LinkBack, reader.Next(LongMs).Kind);
        first.Write("one\n");
        Assert.Equal("one\n", reader.Next(SourceBlockKind.Bytes, LongMs).Text);

        first.Dispose();
        ReadBlock lost = reader.Next(SourceBlockKind.LinkLost, LongMs);
        Assert.Contains(port, lost.Text, StringComparison.Ordinal);
        Assert.NotNull(source.Problem);

        using var second = new PseudoTerminal(link: port);
        Assert.Contains(port, reader.Next(SourceBlockKind.LinkBack, LongMs).Text, StringComparison.Ordinal);
        second.Write("two\n");
        Assert.Equal("two\n", reader.Next(SourceBlockKind.Bytes, LongMs).Text);
        Assert.Null(source.Problem);
    }

    [Fact]
    public void An_unplugged_device_is_found_again_under_another_name_and_not_taken_for_one_that_has_its_old_name()
    {
        string port = Path.Combine(_folder, "port0");
        string named = Directory.CreateDirectory(Path.Combine(_folder, "by-id")).FullName;
        string device = Path.Combine(named, "usb-board-5A3C");
        var first = new PseudoTerminal(link: port);
        File.CreateSymbolicLink(device, first.PortPath);
        using var source = new SerialPulseSource(
            new SerialSettings { Port = port, UseSystemPorts = UseSystemPorts, LockFolder = _folder, Dtr = false, Rts = false, NamedPortsFolder = named },
            waitForPort: true, TimeProvider.System);
        source.Start();
        var reader = new BlockReader(source.Blocks);
        Assert.Contains(port, reader.Next(SourceBlockKind.LinkBack, LongMs).Text, StringComparison.Ordinal);

        first.Dispose();
        File.Delete(device);
        using var other = new PseudoTerminal(link: port);
        using var second = new PseudoTerminal();
        reader.Next(SourceBlockKind.LinkLost, LongMs);
        File.CreateSymbolicLink(device, second.PortPath);

        Assert.Contains(device, reader.Next(SourceBlockKind.LinkBack, LongMs).Text, StringComparison.Ordinal);
        other.Write("strange\n");
        second.Write("ours\n");
        Assert.Equal("ours\n", reader.Next(SourceBlockKind.Bytes, LongMs).Text);
    }

    [Fact]
    public void A_hang_up_is_told_within_a_second()
    {
        using SerialPulseSource source = Source(_terminal.PortPath);
        source.Start();
        var reader = new BlockReader(source.Blocks);
        Assert.Equal(SourceBlockKind.LinkBack, reader.Next(LongMs).Kind);
        long pulled = TimeProvider.System.MonotonicNs();

        _terminal.Dispose();

        ReadBlock lost = reader.Next(SourceBlockKind.LinkLost, LongMs);
        Assert.InRange(lost.HostNs - pulled, 0, 1_500_000_000);
    }

    [Fact]
    public void A_port_that_comes_later_is_waited_for_where_asked_to()
    {
        string port = Path.Combine(_folder, "later");
        using SerialPulseSource source = Source(port);
        source.Start();
        Assert.False(source.Blocks.Wait(300));
        Assert.Equal(LinkProblemKind.NotThere, source.Problem!.Kind);

        using var terminal = new PseudoTerminal(link: port);

        Assert.Equal(SourceBlockKind.LinkBack, new BlockReader(source.Blocks).Next(LongMs).Kind);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void The_reader_shows_that_it_lives_while_nothing_comes_and_while_the_port_is_away(bool isThere)
    {
        using SerialPulseSource source = Source(isThere ? _terminal.PortPath : Path.Combine(_folder, "never"));
        source.Start();
        for (int i = 0; i < 2; i++)
        {
            long before = source.ReaderBeat.Count;
            Assert.True(SpinWait.SpinUntil(() => source.ReaderBeat.Count > before, 6000));
        }

        Assert.Same(source.ReaderBeat, ((IPulseSource)source).ReaderBeat);
    }

    [Fact]
    public void A_port_that_is_not_there_ends_the_source_where_it_is_not_to_be_waited_for()
    {
        using SerialPulseSource source = Source(Path.Combine(_folder, "never"), waitForPort: false);
        source.Start();
        var reader = new BlockReader(source.Blocks);

        ReadBlock only = reader.Next(LongMs);

        Assert.Equal(SourceBlockKind.LinkLost, only.Kind);
        Assert.Equal(source.Problem!.Message, only.Text);
        Assert.True(source.Blocks.Wait(LongMs));
        Assert.Empty(reader.Rest());
        SpinWait.SpinUntil(() => source.Blocks.IsFinished, LongMs);
        Assert.True(source.Blocks.IsFinished);
    }

    [Fact]
    public void A_question_reaches_the_board_and_stands_in_the_queue_before_its_answer()
    {
        using SerialPulseSource source = Source(_terminal.PortPath);
        source.Start();
        var reader = new BlockReader(source.Blocks);
        Assert.Equal(SourceBlockKind.LinkBack, reader.Next(LongMs).Kind);
        long before = TimeProvider.System.MonotonicNs();

        // The link may be a moment behind its block.
        byte[] heard = new byte[16];
        int length = 0;
        for (int tries = 0; tries < 100 && length <= 0; tries++)
        {
            source.Ask("T7F\n"u8);
            length = _terminal.Read(heard, 50);
        }

        Assert.StartsWith("T7F\n", Encoding.ASCII.GetString(heard, 0, length), StringComparison.Ordinal);
        _terminal.Write("T7F,001E8481*7F34\n");
        ReadBlock asked = reader.Next(LongMs);
        Assert.Equal((SourceBlockKind.Asked, "T7F\n"), (asked.Kind, asked.Text));
        ReadBlock answer = reader.Next(SourceBlockKind.Bytes, LongMs);
        Assert.InRange(asked.HostNs, before, answer.HostNs);
    }

    [Fact]
    public void A_full_queue_costs_bytes_that_are_counted_and_never_holds_up_the_port()
    {
        var ring = new BlockRing(capacityBytes: 40_000, largestPayload: 33_000);
        using SerialPulseSource source = Source(_terminal.PortPath, ring: ring);
        source.Start();
        byte[] much = new byte[500_000];

        Beside.Within(LongMs, () => _terminal.Write(much));

        Assert.True(ring.BytesLost > 0);
        long held = 0;
        var reader = new BlockReader(ring);
        bool allThere = SpinWait.SpinUntil(
            () =>
            {
                held += reader.Rest().Where(block => block.Kind == SourceBlockKind.Bytes).Sum(block => block.Payload.Length);
                return held + ring.BytesLost >= much.Length;
            },
            LongMs);
        Assert.True(allThere);
        Assert.Equal(much.Length, held + ring.BytesLost);
    }

    [Fact]
    public void Disposing_does_not_hang_on_a_port_that_was_hung_up_while_reading()
    {
        SerialPulseSource source = Source(_terminal.PortPath);
        source.Start();
        Assert.Equal(SourceBlockKind.LinkBack, new BlockReader(source.Blocks).Next(LongMs).Kind);

        _terminal.Dispose();

        Beside.Within(5000, source.Dispose);
        Beside.Within(5000, source.Dispose);
        source.Ask("?\n"u8);
    }

    [Fact]
    public void Disposing_does_not_wait_for_a_read_under_way_to_run_out()
    {
        SerialPulseSource source = Source(_terminal.PortPath);
        source.Start();
        Assert.Equal(SourceBlockKind.LinkBack, new BlockReader(source.Blocks).Next(LongMs).Kind);

        Beside.Within(700, source.Dispose); // a read waits for 1,000 ms
    }

    [Fact]
    public void Disposing_does_not_hang_while_a_port_is_waited_for()
    {
        SerialPulseSource source = Source(Path.Combine(_folder, "never"));
        source.Start();
        Assert.False(source.Blocks.Wait(300));

        Beside.Within(1000, source.Dispose);
    }

    [Fact]
    public void A_disposed_source_frees_the_port()
    {
        for (int time = 0; time < 2; time++)
        {
            using SerialPulseSource source = Source(_terminal.PortPath, waitForPort: false);
            source.Start();
            Assert.Equal(SourceBlockKind.LinkBack, new BlockReader(source.Blocks).Next(LongMs).Kind);
        }
    }

    private SerialPulseSource Source(string port, bool waitForPort = true, BlockRing? ring = null) => new(
        new SerialSettings { Port = port, UseSystemPorts = UseSystemPorts, LockFolder = _folder }, waitForPort, TimeProvider.System, ring);
}

[SupportedOSPlatform("linux")]
public sealed class LinuxSerialPulseSourceTests : SerialPulseSourceContract
{
    protected override bool UseSystemPorts => false;
}

[Collection("System.IO.Ports")]
[SupportedOSPlatform("linux")]
public sealed class PortsSerialPulseSourceTests : SerialPulseSourceContract
{
    protected override bool UseSystemPorts => true;
}
