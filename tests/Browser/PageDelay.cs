using System.Text.Json;
using Acquire.Terminals;
using Microsoft.Playwright;
using Xunit;

namespace Acquire.Browser.Tests;

/// <summary>How long a pulse takes from the port to a drawn frame, measured, not tested: <c>-explicit only -class Acquire.Browser.Tests.PageDelay -showLiveOutput</c>.</summary>
[Collection(BenchServiceTests.Name)]
public sealed class PageDelay(BenchService bench)
{
    private const double SettleS = 15; // a browser goes on working for a while after a page has come
    private const int Pages = 20;

    /// <param name="drawn">How many of the pages are drawn by a browser on this same computer; the others only take the stream, as a browser elsewhere would.</param>
    [Theory(Explicit = true)]
    [InlineData(1)]
    [InlineData(Pages)]
    public async Task Pulse_to_screen_at_1000_pulses_a_second_with_20_pages(int drawn)
    {
        CancellationToken cancel = TestContext.Current.CancellationToken;
        string library = Directory.CreateTempSubdirectory("acquire-delay-").FullName;
        using var terminal = new PseudoTerminal();
        (Running service, string address) = await BenchService.Serve(["--library", library, .. PlayedSpin.Arguments(terminal)]);
        using (service)
        using (var http = new HttpClient { BaseAddress = new Uri(address) })
        {
            var pages = new List<IPage>();
            for (int i = 0; i < drawn; i++) pages.Add(await bench.Visit("/bench", address: address));
            using var end = CancellationTokenSource.CreateLinkedTokenSource(cancel);
            await http.GetStringAsync(new Uri("/api/session", UriKind.Relative), cancel);
            for (int i = drawn; i < Pages; i++) _ = Listen(http, end.Token);
            await pages[0].EvaluateAsync(PlayedSpin.Watch);
            await Task.Delay(TimeSpan.FromSeconds(SettleS), TimeProvider.System, cancel);
            double[] sentMs = await Task.Run(() => PlayedSpin.Play(terminal), cancel);
            await pages[0].WaitForFunctionAsync($"() => window.shown.length && window.shown.at(-1)[0] >= {sentMs.Length}", null, new() { Timeout = 60_000 });
            PlayedSpin.Report($"{Pages} pages, {drawn} drawn here", sentMs, await pages[0].EvaluateAsync<JsonElement>("window.shown"), await http.GetStringAsync(new Uri("/api/live", UriKind.Relative), cancel));
            await end.CancelAsync();
            foreach (IPage page in pages) await bench.Leave(page);
        }

        Directory.Delete(library, recursive: true);
    }

    /// <summary>Needs Xvfb.</summary>
    [Fact(Explicit = true)]
    public async Task Pulse_to_screen_at_1000_pulses_a_second_with_20_tabs_of_one_window()
    {
        CancellationToken cancel = TestContext.Current.CancellationToken;
        string library = Directory.CreateTempSubdirectory("acquire-delay-").FullName;
        using var terminal = new PseudoTerminal();
        (Running service, string address) = await BenchService.Serve(["--library", library, .. PlayedSpin.Arguments(terminal)]);
        using (service)
        using (TabWindow window = await TabWindow.Open())
        using (var http = new HttpClient { BaseAddress = new Uri(address) })
        {
            var tabs = new List<Uri>();
            for (int i = 0; i < Pages; i++) tabs.Add(await window.Tab(address + "/bench"));
            await Task.Delay(TimeSpan.FromSeconds(SettleS), TimeProvider.System, cancel);
            var inSight = new List<Uri>();
            foreach (Uri tab in tabs)
            {
                Assert.True((await TabWindow.Value(tab, "!!document.querySelector('main h1')", cancel)).GetBoolean());
                if ((await TabWindow.Value(tab, "document.visibilityState", cancel)).GetString() == "visible") inSight.Add(tab);
            }

            Uri front = Assert.Single(inSight);
            await TabWindow.Value(front, $"({PlayedSpin.Watch})()", cancel);
            double[] sentMs = await Task.Run(() => PlayedSpin.Play(terminal), cancel);
            await Task.Delay(TimeSpan.FromSeconds(0.6), TimeProvider.System, cancel); // a second of silence is a signal lost
            PlayedSpin.Report($"{Pages} tabs of one window", sentMs, await TabWindow.Value(front, "window.shown", cancel), await http.GetStringAsync(new Uri("/api/live", UriKind.Relative), cancel));
        }

        Directory.Delete(library, recursive: true);
    }

    private static async Task Listen(HttpClient http, CancellationToken end)
    {
        var sink = new byte[4096];
        try
        {
            await using Stream stream = await http.GetStreamAsync(new Uri("/api/live/events", UriKind.Relative), end);
            while (await stream.ReadAsync(sink, end) > 0) continue;
        }
        catch (OperationCanceledException)
        {
            // The measurement is over.
        }
    }
}
