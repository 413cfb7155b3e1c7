using System.Collections.Concurrent;
using System.Net;
using System.Net.Sockets;
using Microsoft.Playwright;
using Xunit;

namespace Acquire.Browser.Tests;

/// <summary>One service with a small library, and one browser, for all tests: <c>acquire serve</c> waits for a board that a test may plug in.</summary>
public sealed class BenchService : IAsyncLifetime
{
    /// <summary>Seconds of the bench in one second here.</summary>
    public const int TimeScale = 20;

    internal static readonly string[] Switches = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
    private readonly string _folder = Directory.CreateTempSubdirectory("acquire-page-").FullName;
    private readonly ConcurrentQueue<string> _faults = new();
    private Running? _service;
    private IPlaywright? _playwright;
    private IBrowser? _browser;

    public string Library => Path.Combine(_folder, "runs");

    /// <summary>The link at which a simulated board may be put up.</summary>
    public string Port => Path.Combine(_folder, "board");

    public string Address { get; private set; } = "";

    public async ValueTask InitializeAsync()
    {
        SmallLibrary.Make(Library);
        (_service, Address) = await Serve("--library", Library, "--port", Port, "--time-scale", $"{TimeScale}");
        _playwright = await Playwright.CreateAsync();
        Assertions.SetDefaultExpectTimeout(30_000);
        _browser = await _playwright.Chromium.LaunchAsync(new() { ExecutablePath = "/usr/bin/chromium", Args = Switches });
    }

    /// <summary>Starts a service and waits until it answers.</summary>
    internal static async Task<(Running Service, string Address)> Serve(params IEnumerable<string> arguments)
    {
        string listen = $"127.0.0.1:{FreePort()}";
        Running service = Running.Acquire(["serve", "--listen", listen, .. arguments]);
        using var http = new HttpClient { BaseAddress = new Uri($"http://{listen}") };
        for (int i = 0; i < 600 && !service.HasEnded; i++)
        {
            try
            {
                if ((await http.GetAsync(new Uri("/api/session", UriKind.Relative))).IsSuccessStatusCode) return (service, $"http://{listen}");
            }
            catch (HttpRequestException)
            {
                // Not there yet.
            }

            await Task.Delay(TimeSpan.FromMilliseconds(50), TimeProvider.System);
        }

        using (service) throw new InvalidOperationException("The service did not answer within 30 s. It said:\n" + service.Said);
    }

    /// <summary>A visitor of their own: nothing kept from another test.</summary>
    public async Task<IPage> Visit(string path, bool phone = false, string? address = null)
    {
        IBrowserContext context = await _browser!.NewContextAsync(new()
        {
            BaseURL = address ?? Address,
            AcceptDownloads = true,
            ViewportSize = phone ? new() { Width = 390, Height = 844 } : new() { Width = 1280, Height = 860 },
        });
        context.SetDefaultTimeout(30_000);
        IPage page = await context.NewPageAsync();
        page.PageError += (_, error) => _faults.Enqueue(error);
        await page.GotoAsync(path);
        await page.Locator("main h1").WaitForAsync();
        return page;
    }

    /// <summary>Ends a visit; no script may have failed in it.</summary>
    public async Task Leave(IPage page)
    {
        await page.Context.CloseAsync();
        Assert.Empty(_faults);
    }

    public async ValueTask DisposeAsync()
    {
        if (_browser is not null) await _browser.DisposeAsync();
        _playwright?.Dispose();
        _service?.Dispose();
        Directory.Delete(_folder, recursive: true);
    }

    private static int FreePort()
    {
        using var probe = new TcpListener(IPAddress.Loopback, 0);
        probe.Start();
        return ((IPEndPoint)probe.LocalEndpoint).Port;
    }
}

[CollectionDefinition(Name)]
public sealed class BenchServiceTests : ICollectionFixture<BenchService>
{
    public const string Name = "bench service";
}
