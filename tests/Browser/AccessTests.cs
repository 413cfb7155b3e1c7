using Deque.AxeCore.Commons;
using Deque.AxeCore.Playwright;
using Microsoft.Playwright;
using Xunit;
using static Microsoft.Playwright.Assertions;

namespace Acquire.Browser.Tests;

[Collection(BenchServiceTests.Name)]
public sealed class AccessTests(BenchService bench)
{
    private static readonly string[] Grave = ["serious", "critical"];

    [Theory]
    [InlineData("/bench", "section h2")]
    [InlineData("/library", "tbody tr[data-index]")]
    [InlineData("/runs/first", "canvas, .files tbody td")]
    [InlineData("/compare", "form")]
    [InlineData("/compare?baseline=cover%3Dnone%2Ctop%3Dinvented+disc&variant=clearance_mm%3D6&variant=clearance_mm%3D2", ".verdict")]
    [InlineData("/sweep?factor=clearance_mm&baseline=cover%3Dnone", ".verdict")]
    public async Task Axe_finds_nothing_grave_light_on_the_desk_or_dark_on_the_phone(string path, string waitFor)
    {
        IPage page = await bench.Visit(path.Replace("first", Path.GetFileName(FirstRun()), StringComparison.Ordinal));
        await page.Locator(waitFor).First.WaitForAsync();
        await NothingGrave(page);
        await bench.Leave(page);
    }

    [Fact]
    public async Task Signing_in_is_asked_for_where_a_password_is_set_and_the_library_alone_says_what_to_do_first()
    {
        string library = Directory.CreateTempSubdirectory("acquire-asked-").FullName;
        await SetPassword(library, "long spin of oak");
        (Running service, string address) = await BenchService.Serve("--library", library, "--ask");
        using (service)
        {
            IPage page = await bench.Visit("/library", address: address);
            await Expect(page.Locator("h1")).ToHaveTextAsync("Sign in");
            await NothingGrave(page);
            await page.GetByLabel("Password").FillAsync("not this one");
            await page.GetByRole(AriaRole.Button, new() { Name = "Sign in" }).ClickAsync();
            await Expect(page.GetByRole(AriaRole.Alert)).ToBeVisibleAsync();
            await page.GetByLabel("Password").FillAsync("long spin of oak");
            await page.Keyboard.PressAsync("Enter");
            await Expect(page.Locator("h1")).ToHaveTextAsync("Library");
            await Expect(page.Locator("main")).ToContainTextAsync("There are no runs yet.");
            await NothingGrave(page);
            await page.GetByRole(AriaRole.Link, new() { Name = "Bench" }).ClickAsync();
            await Expect(page.Locator("h1")).ToContainTextAsync("No capture");
            await Expect(page.Locator("main")).ToContainTextAsync("acquire serve --port");
            await NothingGrave(page);
            await page.GetByRole(AriaRole.Button, new() { Name = "Sign out" }).ClickAsync();
            await Expect(page.Locator("h1")).ToHaveTextAsync("Sign in");
            await bench.Leave(page);
        }

        Directory.Delete(library, recursive: true);
    }

    [Fact]
    public async Task By_keyboard_alone_a_run_is_found_and_opened_and_the_focus_is_always_seen()
    {
        IPage page = await bench.Visit("/bench");
        await page.Keyboard.PressAsync("Tab");
        Assert.Equal("To the content", await Focused(page, "textContent"));
        await UntilFocused(page, "Library");
        await page.Keyboard.PressAsync("Enter");
        await Expect(page.Locator("h1")).ToHaveTextAsync("Library");
        await Expect(page.Locator("h1")).ToBeFocusedAsync();
        await Expect(page.Locator("tbody tr[data-index]").First).ToBeVisibleAsync();
        await page.Keyboard.PressAsync("Tab");
        await page.Keyboard.TypeAsync("clearance_mm=6");
        await Expect(page.Locator("tbody tr[data-index]")).ToHaveCountAsync(3);
        for (int i = 0; i < 30 && await Focused(page, "type") != "checkbox" || await Focused(page, "getAttribute('aria-label')") is "Pick all that are listed"; i++) await Tab(page);
        await page.Keyboard.PressAsync("Space");
        await page.Keyboard.PressAsync("ArrowDown");
        await page.Keyboard.PressAsync("Space");
        await Expect(page.GetByText("2 runs picked")).ToBeVisibleAsync();
        await Tab(page);
        await page.Keyboard.PressAsync("Enter");
        await Expect(page.Locator("h1")).ToContainTextAsync("invented disc");
        await Expect(page.Locator("h1")).ToBeFocusedAsync();
        await UntilFocused(page, "Edit");
        await page.Keyboard.PressAsync("Enter");
        await Expect(page.GetByRole(AriaRole.Dialog)).ToBeVisibleAsync();
        await page.Keyboard.PressAsync("Escape");
        await Expect(page.GetByRole(AriaRole.Dialog)).ToHaveCountAsync(0);
        Assert.Equal("Edit", await Focused(page, "textContent"));
        await bench.Leave(page);
    }

    [Fact]
    public async Task The_first_load_weighs_less_than_300_kB_with_its_chart()
    {
        IPage page = await bench.Visit("/library");
        IBrowserContext fresh = await page.Context.Browser!.NewContextAsync(new() { BaseURL = bench.Address });
        IPage first = await fresh.NewPageAsync();
        ICDPSession network = await fresh.NewCDPSessionAsync(first);
        double bytes = 0;
        network.Event("Network.loadingFinished").OnEvent += (_, e) => bytes += e!.Value.GetProperty("encodedDataLength").GetDouble();
        await network.SendAsync("Network.enable");
        await first.GotoAsync("/");
        await first.Locator(".beside section").First.WaitForAsync();
        await first.WaitForFunctionAsync("() => typeof window.uPlot === 'function'");
        Assert.InRange(bytes, 10_000, 300_000);
        TestContext.Current.TestOutputHelper?.WriteLine($"first load {bytes:F0} bytes");
        await fresh.CloseAsync();
        await bench.Leave(page);
    }

    private string FirstRun() => Directory.GetDirectories(bench.Library, "2*").Order(StringComparer.Ordinal).First();

    private static async Task SetPassword(string library, string password)
    {
        using var set = new System.Diagnostics.Process();
        set.StartInfo = new("dotnet", [Path.Combine(AppContext.BaseDirectory, "acquire.dll"), "serve", "--set-password", "--library", library]) { RedirectStandardInput = true, RedirectStandardError = true };
        set.Start();
        await set.StandardInput.WriteLineAsync(password);
        set.StandardInput.Close();
        string said = await set.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
        await set.WaitForExitAsync(TestContext.Current.CancellationToken);
        Assert.True(set.ExitCode == 0, said);
    }

    private static async Task NothingGrave(IPage page)
    {
        foreach ((ColorScheme scheme, int wide) in ((ColorScheme, int)[])[(ColorScheme.Light, 1280), (ColorScheme.Dark, 390)])
        {
            await page.EmulateMediaAsync(new() { ColorScheme = scheme, ReducedMotion = ReducedMotion.Reduce });
            await page.SetViewportSizeAsync(wide, 860);
            AxeResult found = await page.RunAxe();
            Assert.NotEmpty(found.Passes);
            Assert.Empty(found.Violations.Where(v => Grave.Contains(v.Impact)).Select(v => $"{scheme} {wide} {v.Id}: {v.Nodes[0].Html}"));
            Assert.InRange(await page.EvaluateAsync<int>("document.documentElement.scrollWidth"), 1, wide);
        }
    }

    private static async Task Tab(IPage page)
    {
        await page.Keyboard.PressAsync("Tab");
        string seen = await page.EvaluateAsync<string>("(() => { const e = document.activeElement; return e === document.body || e.matches('main') || getComputedStyle(e).outlineStyle !== 'none' ? '' : e.outerHTML; })()");
        Assert.Equal("", seen);
    }

    private static async Task UntilFocused(IPage page, string text)
    {
        for (int i = 0; i < 60 && await Focused(page, "textContent") != text; i++) await Tab(page);
        Assert.Equal(text, await Focused(page, "textContent"));
    }

    private static Task<string> Focused(IPage page, string what) => page.EvaluateAsync<string>($"String(document.activeElement.{what})");
}
