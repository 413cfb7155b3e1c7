using System.IO.Compression;
using System.Text.RegularExpressions;
using Microsoft.Playwright;
using Xunit;
using static Microsoft.Playwright.Assertions;

namespace Acquire.Browser.Tests;

[Collection(BenchServiceTests.Name)]
public sealed partial class ResultTests(BenchService bench)
{
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task Runs_picked_in_the_library_are_compared_set_up_with_set_up(bool phone)
    {
        IPage page = await bench.Visit("/library", phone);
        await page.GetByLabel("Find").FillAsync("cover=none invented");
        await Expect(page.Locator("tbody tr[data-index]")).ToHaveCountAsync(3);
        await Pick(page, 3);
        await page.GetByLabel("Find").FillAsync("clearance_mm=6");
        await Expect(page.Locator("tbody tr[data-index]")).ToHaveCountAsync(3);
        await Pick(page, 3);
        await Expect(page.GetByText("6 runs picked")).ToBeVisibleAsync();
        await page.GetByRole(AriaRole.Region, new() { Name = "Picked runs" }).GetByRole(AriaRole.Button, new() { Name = "Compare" }).ClickAsync();
        await Expect(page.Locator("h1")).ToHaveTextAsync("Did the change help?");
        await page.GetByRole(AriaRole.Button, new() { Name = "Compare" }).ClickAsync();
        await Expect(page.Locator(".verdict")).ToHaveTextAsync(Verdict());
        await Expect(page.Locator("main")).ToContainTextAsync("How sure");
        await bench.Leave(page);
    }

    [Fact]
    public async Task A_comparison_by_set_up_gives_the_commands_figures()
    {
        IPage page = await bench.Visit("/compare");
        await page.GetByLabel("Baseline").FillAsync("cover=none,top=invented disc");
        await page.GetByLabel("Variant 1").FillAsync("clearance_mm=6");
        await page.GetByRole(AriaRole.Button, new() { Name = "Compare" }).ClickAsync();
        await Expect(page.Locator(".verdict")).ToHaveTextAsync(Verdict());
        string command = await Command("compare", "--library", bench.Library, "--baseline", "cover=none,top=invented disc", "--variant", "clearance_mm=6");
        string change = Change().Match(command).Value;
        Assert.NotEmpty(change);
        Assert.Contains(change, (await page.Locator(".verdict").InnerTextAsync()).Replace('\u00a0', ' '), StringComparison.Ordinal);
        await Expect(page.Locator("svg.picture rect, svg.picture circle").First).ToBeVisibleAsync();
        await bench.Leave(page);
    }

    [Fact]
    public async Task A_sweep_shows_the_best_value_and_an_error_of_the_call_is_said_in_a_sentence()
    {
        IPage page = await bench.Visit("/sweep");
        await page.GetByLabel("Baseline").FillAsync("cover=none");
        await page.GetByLabel("Factor").SelectOptionAsync("clearance_mm");
        await page.GetByRole(AriaRole.Button, new() { Name = "Find the best" }).ClickAsync();
        await Expect(page.Locator(".verdict")).ToContainTextAsync("clearance");
        await Expect(page.Locator("tbody tr")).ToHaveCountAsync(3);

        await page.GetByLabel("From").FillAsync("fast");
        await page.GetByRole(AriaRole.Button, new() { Name = "Find the best" }).ClickAsync();
        await Expect(page.GetByRole(AriaRole.Alert)).ToContainTextAsync("fast");
        await bench.Leave(page);
    }

    [Fact]
    public async Task An_edit_of_several_runs_is_entered_in_each_they_come_in_one_zip_and_a_deleted_run_comes_back()
    {
        IPage page = await bench.Visit("/library");
        await page.GetByLabel("Find").FillAsync("clearance_mm=14");
        await Expect(page.Locator("tbody tr[data-index]")).ToHaveCountAsync(2);
        await Pick(page, 2);
        await page.GetByRole(AriaRole.Region, new() { Name = "Picked runs" }).GetByRole(AriaRole.Button, new() { Name = "Edit" }).ClickAsync();
        ILocator dialog = page.GetByRole(AriaRole.Dialog);
        await dialog.GetByLabel("Operator").FillAsync("Ann");
        await dialog.GetByRole(AriaRole.Button, new() { Name = "Save in all of them" }).ClickAsync();
        await Expect(dialog).ToHaveCountAsync(0);
        await page.GetByLabel("Find").FillAsync("operator=ann");
        await Expect(page.Locator("tbody tr[data-index]")).ToHaveCountAsync(2);
        await Expect(page.Locator("tbody tr[data-index]").First).ToContainTextAsync("edited");

        IDownload zip = await page.RunAndWaitForDownloadAsync(() => page.GetByRole(AriaRole.Button, new() { Name = "Download" }).ClickAsync());
        await using (ZipArchive archive = await ZipFile.OpenReadAsync(await zip.PathAsync(), TestContext.Current.CancellationToken))
            Assert.Equal(2, archive.Entries.Count(e => e.Name == "pulses.csv"));

        await page.Locator("tbody a").First.ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Delete" }).ClickAsync();
        await dialog.GetByRole(AriaRole.Button, new() { Name = "Delete" }).ClickAsync();
        await Expect(page.Locator("tbody tr[data-index]")).ToHaveCountAsync(1);
        await page.GetByText("1 deleted run").ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Put" }).ClickAsync();
        await Expect(page.Locator("tbody tr[data-index]")).ToHaveCountAsync(2);
        await bench.Leave(page);
    }

    private static async Task Pick(IPage page, int count)
    {
        for (int i = 0; i < count; i++) await page.Locator("tbody tr[data-index] input").Nth(i).CheckAsync();
    }

    private static async Task<string> Command(params string[] arguments)
    {
        using Running command = Running.Acquire(arguments);
        Assert.Equal(0, await command.Ends(TestContext.Current.CancellationToken));
        return command.Said;
    }

    [GeneratedRegex("helps")]
    private static partial Regex Verdict();

    [GeneratedRegex(@"[+−][\d.]+ % \([^)]*\)")]
    private static partial Regex Change();
}
