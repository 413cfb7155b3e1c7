using Acquire.Service;
using Acquire.Service.Commands;
using Acquire.Service.Page;
using Acquire.Service.Tests;

namespace Acquire.Page.Tests;

public sealed class ServeCommandTests : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private Surroundings With(TextReader input, TextWriter error) => EndedBy(input, error, TestContext.Current.CancellationToken);

    private Surroundings EndedBy(TextReader input, TextWriter error, CancellationToken stop) => new()
    {
        Out = TextWriter.Null,
        Error = TextWriter.Synchronized(error),
        In = input,
        CurrentFolder = _bench.Current,
        ProgramFolder = _bench.Program,
        Stop = stop,
    };

    [Theory]
    [InlineData("0.0.0.0:8735")]
    [InlineData("[::]:8735")]
    [InlineData("127.0.0.1:8735,192.168.1.7:8735")]
    public void On_a_network_the_page_is_not_served_without_a_password(string listen)
    {
        Assert.Equal(ExitCode.WrongCall, _bench.Run("serve", "--listen", listen));
        Assert.Contains("--listen: on a network the page asks for a password, but no password is set: acquire serve --set-password sets it", _bench.Error, StringComparison.Ordinal);
        Assert.Equal(ExitCode.WrongCall, _bench.Run("serve", "--port", "/dev/nothing", "--listen", listen));
    }

    [Theory]
    [InlineData("nonsense")]
    [InlineData("127.0.0.1")]
    [InlineData("127.0.0.1:99999")]
    [InlineData("example.org:80")]
    public void An_address_that_is_none_is_refused_with_what_is_allowed(string listen)
    {
        Assert.Equal(ExitCode.WrongCall, _bench.Run("serve", "--listen", listen));
        Assert.Contains($"--listen: '{listen}'; allowed is ADDRESS:PORT", _bench.Error, StringComparison.Ordinal);
    }

    [Fact]
    [System.Runtime.Versioning.SupportedOSPlatform("linux")]
    public void A_password_is_kept_as_a_hash_that_only_its_owner_and_group_read()
    {
        using var error = new StringWriter();
        Assert.Equal(ExitCode.Done, AcquireCommand.Run(["serve", "--set-password"], With(new StringReader(Served.Password + "\n"), error)));
        string file = Path.Combine(_bench.Library, PageSettings.PasswordFileName);
        Assert.DoesNotContain(Served.Password, File.ReadAllText(file), StringComparison.Ordinal);
        Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.GroupRead, File.GetUnixFileMode(file));
        KeptPassword kept = PagePassword.Read(file, out _)!;
        Assert.True(kept.Is(Served.Password));
        Assert.False(kept.Is(Served.Password + " "));
        Assert.False(kept.Is(""));
        Assert.Equal(ExitCode.WrongCall, AcquireCommand.Run(["serve", "--set-password"], With(new StringReader("short\n"), error)));
        Assert.Contains("a password of 8 to 200 characters in one line is needed", error.ToString(), StringComparison.Ordinal);
        File.WriteAllText(file, "{\"version\":1,\"iterations\":1000000000,\"salt\":\"\",\"hash\":\"\"}");
        Assert.Null(PagePassword.Read(file, out string? problem));
        Assert.Contains("--set-password writes it anew", problem, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Without_a_port_it_serves_the_library_until_it_is_ended()
    {
        using var stop = new CancellationTokenSource();
        using var error = new StringWriter();
        Task<int> serving = Task.Run(() => AcquireCommand.Run(["serve", "--listen", "127.0.0.1:0"], EndedBy(TextReader.Null, error, stop.Token)), TestContext.Current.CancellationToken);
        await Served.Until(() => Task.FromResult(error.ToString().Contains("The page is at http://127.0.0.1:", StringComparison.Ordinal)), "the page is served");
        await stop.CancelAsync();
        Assert.Equal(ExitCode.EndedByUser, await serving);
    }

    [Fact]
    public async Task An_address_that_is_taken_ends_it_where_nothing_is_captured()
    {
        using var taken = new Served(_bench);
        using var error = new StringWriter();
        int code = await Task.Run(() => AcquireCommand.Run(["serve", "--listen", $"127.0.0.1:{taken.Address.Port}"], With(TextReader.Null, error)), TestContext.Current.CancellationToken);
        Assert.Equal(ExitCode.Failed, code);
        Assert.Contains("address already in use", error.ToString(), StringComparison.OrdinalIgnoreCase);
    }
}
