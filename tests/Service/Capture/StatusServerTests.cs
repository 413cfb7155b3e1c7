using System.Net.Sockets;
using System.Text.Json;
using Acquire.Service.Capture;

namespace Acquire.Service.Tests.Capture;

public sealed class StatusServerTests : IDisposable
{
    private static readonly TimeSpan Wait = TimeSpan.FromSeconds(5);
    private readonly string _library = Directory.CreateTempSubdirectory("acquire-status-").FullName;
    private readonly KeptLog _log = new();
    private int _asked;

    public StatusServerTests() => Directory.CreateDirectory(Path.Combine(_library, ".open"));

    private string Socket => StatusSocket.PathIn(_library);

    public void Dispose() => Directory.Delete(_library, recursive: true);

    [Fact]
    [System.Runtime.Versioning.SupportedOSPlatform("linux")]
    public void Whoever_asks_is_told_and_only_owner_and_group_may_ask()
    {
        using (StatusServer server = Serve())
        {
            Assert.Equal(["all is invented"], Ask().Problems);
            Assert.Equal(
                UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.GroupRead | UnixFileMode.GroupWrite, File.GetUnixFileMode(Socket));
        }

        Assert.False(File.Exists(Socket));
        Assert.Throws<SocketException>(Ask);
    }

    [Fact]
    public void One_who_asks_and_hangs_keeps_nobody_waiting()
    {
        using StatusServer server = Serve();
        Socket[] hanging = [.. Enumerable.Range(0, 6).Select(_ => Connect())];
        long began = TimeProvider.System.GetTimestamp();
        Assert.Equal(["all is invented"], Ask().Problems);
        Assert.InRange(TimeProvider.System.GetElapsedTime(began).TotalSeconds, 0, 2);
        Array.ForEach(hanging, s => s.Dispose());
    }

    [Fact]
    public void A_flood_of_askers_gets_at_most_two_hundred_answers_a_second()
    {
        using StatusServer server = Serve();
        long began = TimeProvider.System.GetTimestamp();
        double ElapsedS() => TimeProvider.System.GetElapsedTime(began).TotalSeconds;
        Thread[] askers = [.. Enumerable.Range(0, 4).Select(_ => new Thread(() =>
        {
            while (ElapsedS() < 1.5)
            {
                using Socket socket = Connect();
                socket.Send(new byte[1000]);
            }
        }))];
        Array.ForEach(askers, a => a.Start());
        Array.ForEach(askers, a => a.Join());
        Assert.InRange(_asked, 20, (200 * ElapsedS()) + 1);
        Assert.Equal(["all is invented"], Ask().Problems);
    }

    [Fact]
    public void A_report_that_fails_is_logged_once_and_the_next_is_given()
    {
        bool fails = true;
        using StatusServer server = StatusServer.TryStart(_library, () => fails ? throw new InvalidOperationException("invented") : Report(), _log)!;
        Assert.ThrowsAny<JsonException>(Ask);
        Assert.ThrowsAny<JsonException>(Ask);
        fails = false;
        Assert.Equal(["all is invented"], Ask().Problems);
        Assert.Equal(["Warning The status could not be given"], _log.Lines);
    }

    [Fact]
    public void A_socket_that_a_killed_capture_left_is_replaced()
    {
        using (var left = new Socket(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified))
            left.Bind(new UnixDomainSocketEndPoint(Socket));
        File.WriteAllText(Socket + ".other", "");
        using StatusServer server = Serve();
        Assert.True(Ask().Running);
        Assert.True(File.Exists(Socket + ".other"));
    }

    [Fact]
    public void A_library_whose_path_is_too_long_for_a_socket_is_captured_into_all_the_same()
    {
        string deep = Path.Combine(_library, new string('d', 120));
        Assert.Null(StatusServer.TryStart(deep, Report, _log));
        Assert.Matches("Warning This capture cannot be asked for its status: .* has [0-9]+ bytes, and the path of a socket at most 107", Assert.Single(_log.Lines));
    }

    private StatusServer Serve() => StatusServer.TryStart(_library, Report, _log)!;

    private CaptureStatus Report()
    {
        Interlocked.Increment(ref _asked);
        return new CaptureStatus { Running = true, Well = false, Problems = ["all is invented"], Library = _library };
    }

    private CaptureStatus Ask() => StatusSocket.Ask(Socket, Wait, TimeProvider.System);

    private Socket Connect()
    {
        var socket = new Socket(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified);
        socket.Connect(new UnixDomainSocketEndPoint(Socket));
        return socket;
    }
}
