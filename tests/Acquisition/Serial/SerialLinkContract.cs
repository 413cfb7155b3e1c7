using System.Runtime.Versioning;
using System.Text;
using Acquire.Acquisition.Serial;
using Acquire.Terminals;
using Xunit;

namespace Acquire.Acquisition.Tests.Serial;

/// <summary>What any serial link has to do, over a pseudo-terminal.</summary>
[SupportedOSPlatform("linux")]
public abstract class SerialLinkContract : IDisposable
{
    private const int LongMs = 5000;
    private readonly string _folder = Directory.CreateTempSubdirectory("acquire-link-").FullName;

    protected abstract bool UseSystemPorts { get; }

    public void Dispose()
    {
        Directory.Delete(_folder, recursive: true);
        GC.SuppressFinalize(this);
    }

    [Fact]
    public void Bytes_from_the_board_arrive_unchanged()
    {
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath);
        byte[] all = [.. Enumerable.Range(0, 256).Select(value => (byte)value)];

        terminal.Write(all);

        Assert.Equal(all, ReadExactly(link, all.Length));
    }

    [Fact]
    public void Bytes_to_the_board_arrive_unchanged_and_are_not_echoed()
    {
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath);

        Assert.True(link.Write("?\nT7F\r\n"u8));

        Assert.Equal("?\nT7F\r\n", Encoding.ASCII.GetString(ReadAtBoard(terminal, 7)));
        Assert.Equal(LinkRead.Nothing, link.Read(new byte[8], 50, out int count));
        Assert.Equal(0, count);
    }

    [Fact]
    public void A_read_with_nothing_there_ends_when_its_time_is_over()
    {
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath);
        long start = TimeProvider.System.GetTimestamp();

        LinkRead read = link.Read(new byte[8], 100, out int count);

        Assert.Equal((LinkRead.Nothing, 0), (read, count));
        Assert.InRange(TimeProvider.System.GetElapsedTime(start).TotalMilliseconds, 90, LongMs);
    }

    [Fact]
    public void A_small_buffer_takes_a_large_answer_in_parts()
    {
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath);
        terminal.Write("0123456789");
        var got = new List<byte>();
        byte[] three = new byte[3];

        while (got.Count < 10 && link.Read(three, LongMs, out int count) == LinkRead.Data)
            got.AddRange(three.AsSpan(0, count));

        Assert.Equal("0123456789", Encoding.ASCII.GetString([.. got]));
    }

    [Fact]
    public void A_hang_up_is_seen_at_once_by_a_read_under_way()
    {
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath);
        Beside<LinkRead> reading = ReadUntilNotNothing(link, LongMs);

        WaitUntilReading();
        long pulled = TimeProvider.System.GetTimestamp();
        terminal.Dispose();

        Assert.Equal(LinkRead.Gone, reading.Within(LongMs));
        Assert.InRange(TimeProvider.System.GetElapsedTime(pulled).TotalMilliseconds, 0, 1000);
    }

    [Fact]
    public void A_hang_up_between_two_reads_is_seen_by_the_next_and_stays_seen()
    {
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath);
        terminal.Write("x");
        Assert.Equal("x"u8.ToArray(), ReadExactly(link, 1));

        terminal.Dispose();

        LinkRead read = LinkRead.Nothing;
        for (int tries = 0; tries < 3 && read == LinkRead.Nothing; tries++)
            read = link.Read(new byte[8], 200, out _);
        Assert.Equal(LinkRead.Gone, read);
        Assert.Equal(LinkRead.Gone, link.Read(new byte[8], 200, out _));
        Assert.False(link.Write("?\n"u8));
    }

    [Fact]
    public void Disposing_after_a_hang_up_returns()
    {
        var terminal = new PseudoTerminal();
        ISerialLink link = Open(terminal.PortPath);
        Beside<LinkRead> reading = ReadUntilNotNothing(link, LongMs);
        WaitUntilReading();
        terminal.Dispose();
        Assert.Equal(LinkRead.Gone, reading.Within(LongMs));

        Beside.Within(LongMs, link.Dispose);
        Assert.Equal(LinkRead.Gone, link.Read(new byte[8], 100, out _));
    }

    [Fact]
    public void Waking_ends_a_read_under_way()
    {
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath);
        Beside<LinkRead> reading = Beside.Run(() => link.Read(new byte[8], LongMs * 2, out _));

        WaitUntilReading();
        link.Wake();

        Assert.Equal(LinkRead.Nothing, reading.Within(LongMs));
    }

    [Fact]
    public void Waking_before_a_read_ends_that_read_and_only_that()
    {
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath);
        link.Wake();
        long start = TimeProvider.System.GetTimestamp();

        Assert.Equal(LinkRead.Nothing, link.Read(new byte[8], LongMs, out _));
        Assert.InRange(TimeProvider.System.GetElapsedTime(start).TotalMilliseconds, 0, 1000);

        terminal.Write("y");
        Assert.Equal("y"u8.ToArray(), ReadExactly(link, 1));
    }

    [Fact]
    public void Closing_ends_a_read_under_way_on_another_thread()
    {
        using var terminal = new PseudoTerminal();
        ISerialLink link = Open(terminal.PortPath);
        Beside<LinkRead> reading = Beside.Run(() => link.Read(new byte[8], LongMs * 2, out _));

        WaitUntilReading();
        Beside.Within(LongMs, link.Dispose);

        Assert.NotEqual(LinkRead.Data, reading.Within(LongMs));
        Assert.Equal(LinkRead.Gone, link.Read(new byte[8], 100, out _));
        Assert.False(link.Write("?\n"u8));
        link.Dispose();
        link.Wake();
    }

    [Fact]
    public void A_port_can_be_opened_again_after_closing()
    {
        using var terminal = new PseudoTerminal();
        for (int time = 0; time < 3; time++)
        {
            using ISerialLink link = Open(terminal.PortPath);
            terminal.Write("z");
            Assert.Equal("z"u8.ToArray(), ReadExactly(link, 1));
        }
    }

    [Theory]
    [InlineData(300)]
    [InlineData(74880)]
    [InlineData(123457)]
    [InlineData(4_000_000)]
    public void Any_rate_in_the_range_opens(int baud)
    {
        using var terminal = new PseudoTerminal();
        using ISerialLink link = Open(terminal.PortPath, baud);

        terminal.Write("x");

        Assert.Equal("x"u8.ToArray(), ReadExactly(link, 1));
    }

    [Theory]
    [InlineData(299)]
    [InlineData(4_000_001)]
    public void A_rate_out_of_range_is_refused_with_the_range(int baud)
    {
        using var terminal = new PseudoTerminal();

        LinkProblem problem = Refused(terminal.PortPath, baud);

        Assert.Equal(LinkProblemKind.Settings, problem.Kind);
        Assert.Contains("300 to 4000000", problem.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_second_user_is_told_who_has_the_port_whatever_name_it_uses()
    {
        string alias = Path.Combine(_folder, "alias");
        using var terminal = new PseudoTerminal(link: alias);
        using ISerialLink link = Open(terminal.PortPath);

        LinkProblem problem = Refused(alias);

        Assert.Equal(LinkProblemKind.Busy, problem.Kind);
        Assert.Contains($"pid {Environment.ProcessId}", problem.Message, StringComparison.Ordinal);
        Assert.Contains(Path.GetFileNameWithoutExtension(Environment.ProcessPath)!, problem.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_port_that_is_not_there_is_answered_with_those_that_are()
    {
        LinkProblem problem = Refused(Path.Combine(_folder, "nothing"));

        Assert.Equal(LinkProblemKind.NotThere, problem.Kind);
        foreach (string there in SerialLinks.PortNames())
            Assert.Contains(there, problem.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_plain_file_is_no_serial_port()
    {
        string file = Path.Combine(_folder, "file");
        File.WriteAllText(file, "text");

        LinkProblem problem = Refused(file);

        Assert.Equal(LinkProblemKind.WrongKind, problem.Kind);
        Assert.Equal("text", File.ReadAllText(file));
    }

    [Fact]
    public void A_refused_port_leaves_no_lock_behind()
    {
        string file = Path.Combine(_folder, "file");
        File.WriteAllText(file, "text");

        Assert.Equal(LinkProblemKind.WrongKind, Refused(file).Kind);
        Assert.Equal(LinkProblemKind.WrongKind, Refused(file).Kind);
    }

    [Fact]
    public void A_port_that_the_user_may_not_open_names_its_group_and_the_remedy()
    {
        using var terminal = new PseudoTerminal();
        File.SetUnixFileMode(terminal.PortPath, UnixFileMode.None);

        LinkProblem problem = Beside.Run(() =>
        {
            OrdinaryUser.BecomeOnThisThread();
            return Refused(terminal.PortPath);
        }).Within(LongMs);

        string group = File.ReadLines("/etc/group").First(line => line.Split(':')[0] == LinkProblem.GroupOf(terminal.PortPath)).Split(':')[0];
        Assert.Equal(LinkProblemKind.Denied, problem.Kind);
        Assert.Contains(group == "root" ? "give this one access" : $"sudo usermod -aG {group} $USER, then log in again", problem.Message, StringComparison.Ordinal);
    }

    protected ISerialLink Open(string port, int baud = 115200)
    {
        bool opened = SerialLinks.TryOpen(Settings(port, baud), out ISerialLink? link, out LinkProblem? problem);
        Assert.True(opened, problem?.Message);
        return link!;
    }

    protected LinkProblem Refused(string port, int baud = 115200)
    {
        bool opened = SerialLinks.TryOpen(Settings(port, baud), out ISerialLink? link, out LinkProblem? problem);
        link?.Dispose();
        Assert.False(opened, $"{port} opened.");
        return problem!;
    }

    private SerialSettings Settings(string port, int baud) =>
        new() { Port = port, Baud = baud, UseSystemPorts = UseSystemPorts, LockFolder = _folder };

    private static byte[] ReadExactly(ISerialLink link, int length)
    {
        var got = new List<byte>();
        byte[] buffer = new byte[1024];
        while (got.Count < length && link.Read(buffer, LongMs, out int count) == LinkRead.Data)
            got.AddRange(buffer.AsSpan(0, count));
        return [.. got];
    }

    private static byte[] ReadAtBoard(PseudoTerminal terminal, int length)
    {
        var got = new List<byte>();
        byte[] buffer = new byte[64];
        int count;
        while (got.Count < length && (count = terminal.Read(buffer, LongMs)) > 0)
            got.AddRange(buffer.AsSpan(0, count));
        return [.. got];
    }

    private static Beside<LinkRead> ReadUntilNotNothing(ISerialLink link, int milliseconds) => Beside.Run(() =>
    {
        long start = TimeProvider.System.GetTimestamp();
        LinkRead read;
        do
        {
            read = link.Read(new byte[64], milliseconds, out _);
        }
        while (read == LinkRead.Nothing && TimeProvider.System.GetElapsedTime(start).TotalMilliseconds < milliseconds);
        return read;
    });

    // The read has no way to say that it waits; a moment is given for it to get there, and the test holds either way.
    private static void WaitUntilReading() => new ManualResetEvent(false).WaitOne(100);
}
