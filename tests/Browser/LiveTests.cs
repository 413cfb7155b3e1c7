using System.Collections.Concurrent;
using System.IO.Compression;
using System.Text.RegularExpressions;
using Acquire.Recording;
using Microsoft.Playwright;
using Xunit;
using static Microsoft.Playwright.Assertions;

namespace Acquire.Browser.Tests;

[Collection(BenchServiceTests.Name)]
public sealed partial class LiveTests(BenchService bench)
{
    [Fact]
    public async Task A_spin_is_labelled_watched_to_its_end_found_downloaded_and_verified()
    {
        IPage page = await bench.Visit("/");
        await Label(page, "oak rim", "jar");

        using Running board = Board("--minutes", "1.5");
        await Expect(page.Locator("h1")).ToContainTextAsync("Spinning");
        await Expect(page.Locator(".speed .value")).ToHaveTextAsync(Digits());
        await Expect(page.Locator(".since")).ToContainTextAsync("since release");
        await Expect(page.Locator(".now canvas")).ToBeVisibleAsync();
        await Expect(page.Locator("#said")).Not.ToHaveTextAsync(Digits());
        await Expect(page.GetByRole(AriaRole.Button, new() { Name = "Start a run now" })).ToBeDisabledAsync();

        ILocator look = page.GetByRole(AriaRole.Link, new() { Name = "Look at the run" });
        await look.ClickAsync(new() { Timeout = 60_000 });
        await Expect(page.Locator("h1")).ToContainTextAsync("oak rim");
        await Expect(page.Locator("main")).ToContainTextAsync("stopped by itself");
        await Expect(page.Locator(".chart canvas")).ToHaveCountAsync(2);
        await page.GetByRole(AriaRole.Button, new() { Name = "Verify" }).ClickAsync();
        await Expect(page.GetByText("Verified.")).ToBeVisibleAsync();
        string name = Uri.UnescapeDataString(page.Url.Split('/')[^1]);
        await DownloadedWhole(page, name);

        await page.GetByRole(AriaRole.Link, new() { Name = "Library", Exact = true }).First.ClickAsync();
        await page.GetByLabel("Find").FillAsync("oak cover_mm=4");
        await Expect(page.Locator("tbody tr[data-index]")).ToHaveCountAsync(0);
        await page.GetByLabel("Find").FillAsync("oak cover=jar dish_radius_mm=80");
        await Expect(page.Locator("tbody tr[data-index]")).ToHaveCountAsync(1);
        await Expect(page.Locator("tbody")).ToContainTextAsync("oak rim");
        await bench.Leave(page);
    }

    [Fact]
    public async Task On_a_phone_a_spin_is_ended_by_hand_and_saved_as_the_operators()
    {
        IPage page = await bench.Visit("/bench", phone: true);
        await Label(page, "brass", "none");
        using Running board = Board("--minutes", "30");
        await Expect(page.Locator("h1")).ToContainTextAsync("Spinning");
        await Expect(page.Locator(".more")).ToContainTextAsync("turns");
        int wide = await page.EvaluateAsync<int>("document.documentElement.scrollWidth");
        Assert.InRange(wide, 300, 390);

        await page.GetByRole(AriaRole.Button, new() { Name = "End this run" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "End the run" }).ClickAsync();
        await page.GetByRole(AriaRole.Link, new() { Name = "Look at the run" }).ClickAsync();
        await Expect(page.Locator("h1")).ToContainTextAsync("brass");
        await Expect(page.Locator("main")).ToContainTextAsync("ended by the operator");
        await bench.Leave(page);
    }

    [Fact]
    public async Task A_lost_connection_is_said_and_taken_up_again()
    {
        IPage page = await bench.Visit("/bench");
        await page.Context.SetOfflineAsync(true);
        await page.EvaluateAsync("import('/live.js').then(m => m.connect())"); // an open stream outlives the switch
        await Expect(page.Locator("#link")).ToContainTextAsync("No connection to the bench computer");
        await page.Context.SetOfflineAsync(false);
        await Expect(page.Locator("#link")).ToBeEmptyAsync();
        await bench.Leave(page);
    }

    [Fact]
    public async Task A_page_out_of_sight_leaves_the_stream_to_one_in_sight_and_takes_it_again_when_that_is_closed()
    {
        const string away = "() => { Object.defineProperty(document, 'hidden', { get: () => true, configurable: true }); document.dispatchEvent(new Event('visibilitychange')); }";
        IPage page = await bench.Visit("/bench");
        var left = new TaskCompletionSource();
        void Ended(object? sender, IRequest request)
        {
            if (IsStream(request)) left.TrySetResult();
        }

        page.RequestFailed += Ended;
        page.RequestFinished += Ended;
        await page.EvaluateAsync(away);
        IPage other = await page.Context.NewPageAsync();
        await other.RunAndWaitForRequestAsync(() => other.GotoAsync("/bench"), IsStream);
        await left.Task.WaitAsync(TimeSpan.FromSeconds(30), TestContext.Current.CancellationToken);
        await Told(page);
        int[] others = await other.EvaluateAsync<int[]>("() => import('/stream.js').then(s => [s.otherPages(), s.othersInSight()])");
        Assert.Equal([1, 0], others);
        await page.RunAndWaitForRequestAsync(() => other.CloseAsync(), IsStream);
        await Told(page);
        await bench.Leave(page);
    }

    /// <summary>More than a browser has connections to one computer.</summary>
    [Fact]
    public async Task Twenty_pages_of_one_browser_share_one_stream_and_outlive_the_page_that_has_it()
    {
        var streams = new ConcurrentDictionary<IRequest, IPage>();
        IPage first = await bench.Visit("/bench");
        first.Context.RequestFailed += (_, r) => streams.TryRemove(r, out IPage? _);
        first.Context.RequestFinished += (_, r) => streams.TryRemove(r, out IPage? _);
        first.Context.Request += (_, r) =>
        {
            if (IsStream(r)) streams[r] = r.Frame.Page;
        };
        await first.ReloadAsync();
        while (first.Context.Pages.Count < 20)
        {
            IPage page = await first.Context.NewPageAsync();
            await page.GotoAsync("/bench");
            await Expect(page.Locator("main h1")).ToBeVisibleAsync();
        }

        await Task.WhenAll(first.Context.Pages.Select(Told));
        await Expect(first.Locator("#link")).ToBeEmptyAsync();
        await streams.Single().Value.CloseAsync();
        await Task.WhenAll(first.Context.Pages.Select(Told));
        Assert.Single(streams, s => !s.Value.IsClosed);
        await bench.Leave(first.Context.Pages[0]);
    }

    private static bool IsStream(IRequest request) => request.Url.EndsWith("/api/live/events", StringComparison.Ordinal);

    /// <summary>The page hears what the recorder says.</summary>
    private static async Task Told(IPage page) =>
        Assert.True(await page.EvaluateAsync<bool>("import('/live.js').then(m => Promise.race([new Promise(told => m.live.addEventListener('live', () => told(true), { once: true })), new Promise(none => setTimeout(() => none(false), 15000))]))"));

    [Fact]
    public async Task What_comes_right_after_another_state_is_shown_though_nothing_follows()
    {
        IPage page = await bench.Visit("/bench");
        Assert.True(await page.EvaluateAsync<bool>("""
            async () => {
                const { live, now, close } = await import('/live.js');
                close(); // or the bench would say what comes next
                const seen = new Promise(found => new MutationObserver(() => document.querySelector('.now .trouble').textContent === 'An invented trouble.' && found(true))
                    .observe(document.querySelector('.now'), { subtree: true, childList: true, characterData: true }));
                const doc = now.doc ?? await (await fetch('/api/live')).json();
                for (const trouble of [null, 'An invented trouble.']) live.dispatchEvent(new CustomEvent('live', { detail: { ...doc, trouble } }));
                return Promise.race([seen, new Promise(none => setTimeout(() => none(false), 3000))]);
            }
            """));
        await bench.Leave(page);
    }

    private static async Task Label(IPage page, string top, string cover)
    {
        await page.GetByLabel("Top").FillAsync(top);
        await page.GetByLabel("Cover").FillAsync(cover);
        ILocator factor = page.GetByLabel("Name of the factor");
        if (await factor.CountAsync() == 0) await page.GetByRole(AriaRole.Button, new() { Name = "Add a factor" }).ClickAsync();
        await factor.First.FillAsync("dish_radius_mm");
        await page.Locator(".factor input").Nth(1).FillAsync("80");
        await page.GetByRole(AriaRole.Button, new() { Name = "Use for the next run" }).ClickAsync();
        await Expect(page.GetByText("A run under way keeps its own.")).ToBeVisibleAsync();
    }

    private Running Board(params IEnumerable<string> arguments) => Running.Board(
        ["--link", bench.Port, "--speed", $"{BenchService.TimeScale}", "--idle", "20", "--rest", "400", "--stay", "--misses", "0", "--glints", "0", .. arguments]);

    /// <summary>The folder as a zip is the folder as it stands: every byte, and verified.</summary>
    private async Task DownloadedWhole(IPage page, string run)
    {
        // The page of the run may be made meanwhile.
        string[] files = [.. Directory.GetFiles(Path.Combine(bench.Library, run)).Where(f => !Path.GetFileName(f).StartsWith('.') && Path.GetFileName(f) != "report.html")];
        Assert.Contains(Path.Combine(bench.Library, run, "pulses.csv"), files);
        IDownload download = await page.RunAndWaitForDownloadAsync(() => page.GetByRole(AriaRole.Link, new() { Name = "Download all" }).ClickAsync());
        string folder = Directory.CreateTempSubdirectory("acquire-zip-").FullName;
        await ZipFile.ExtractToDirectoryAsync(await download.PathAsync(), folder, TestContext.Current.CancellationToken);
        string unpacked = Directory.Exists(Path.Combine(folder, run)) ? Path.Combine(folder, run) : folder;
        foreach (string file in files)
            Assert.Equal(File.ReadAllBytes(file), File.ReadAllBytes(Path.Combine(unpacked, Path.GetFileName(file))));
        Assert.Empty(RunVerifier.Verify(unpacked));
        using Running verify = Running.Acquire("verify", unpacked);
        Assert.Equal(0, await verify.Ends(TestContext.Current.CancellationToken));
        Directory.Delete(folder, recursive: true);
    }

    [GeneratedRegex(@"^\d{3,5}$")]
    private static partial Regex Digits();
}
