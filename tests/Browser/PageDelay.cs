using System.Globalization;
using System.Text.Json;
using Acquire.Recording;
using Microsoft.Playwright;
using Xunit;

namespace Acquire.Browser.Tests;

/// <summary>How long a pulse takes to the screen, measured, not tested: <c>-explicit only -class Acquire.Browser.Tests.PageDelay</c>.</summary>
[Collection(BenchServiceTests.Name)]
public sealed class PageDelay(BenchService bench)
{
    private const int Pages = 20;
    private const int Marks = 8;

    // Notes, after each frame that shows a new state, how many marks it had counted and when that was.
    private const string Watch = """
        () => import('/live.js').then(({ live }) => {
            window.shown = [];
            live.addEventListener('live', e => requestAnimationFrame(() => {
                const drawn = new MessageChannel();
                drawn.port1.onmessage = () => window.shown.push([e.detail.marks, Date.now(), Date.parse(e.detail.at), e.detail.phase === 'spinning' ? 1 : 0]);
                drawn.port2.postMessage(0);
            }));
        })
        """;

    [Fact(Explicit = true)]
    public async Task Pulse_to_screen_at_1000_pulses_a_second_with_20_pages()
    {
        string folder = Directory.CreateTempSubdirectory("acquire-delay-").FullName;
        string port = Path.Combine(folder, "board"), library = Path.Combine(folder, "runs");
        (Running service, string address) = await BenchService.Serve("--library", library, "--port", port, "--marks", $"{Marks}");
        using (service)
        {
            var pages = new List<IPage>();
            for (int i = 0; i < Pages; i++) pages.Add(await bench.Visit("/bench", address: address));
            await pages[0].EvaluateAsync(Watch);
            using Running board = Running.Board("--link", port, "--speed", "1", "--marks", $"{Marks}", "--peak", "7900", "--topple", "7100", "--minutes", "1", "--idle", "2", "--rest", "600", "--misses", "0", "--glints", "0", "--stay");
            await pages[0].Locator("section[data-phase=spinning]").WaitForAsync(new() { Timeout = 60_000 });
            await pages[0].Locator("section[data-phase=lost]").WaitForAsync(new() { Timeout = 180_000 });
            JsonElement shown = await pages[0].EvaluateAsync<JsonElement>("window.shown");
            await pages[0].GetByRole(AriaRole.Button, new() { Name = "End this run" }).ClickAsync();
            await pages[0].GetByRole(AriaRole.Button, new() { Name = "End the run" }).ClickAsync();
            await pages[0].GetByRole(AriaRole.Link, new() { Name = "Look at the run" }).WaitForAsync(new() { Timeout = 240_000 });
            foreach (IPage page in pages) await bench.Leave(page);
            Report(RunLibrary.List(library).Single().Folder, shown);
        }

        Directory.Delete(folder, recursive: true);
    }

    private static void Report(string run, JsonElement shown)
    {
        RunDescriptor descriptor = RunPackageReader.ReadDescriptor(run);
        double startMs = descriptor.StartedAt.ToUnixTimeMilliseconds();
        List<double> markMs = [];
        foreach (string[] pulse in File.ReadLines(Path.Combine(run, "pulses.csv")).Skip(1).Select(line => line.Split(',')))
            if (pulse[2] == "mark") markMs.Add(startMs + (1000 * double.Parse(pulse[0], CultureInfo.InvariantCulture)));
        List<double> delaysMs = [];
        int next = 0;
        double lastMs = 0;
        List<double> framesMs = [];
        foreach (JsonElement frame in shown.EnumerateArray())
        {
            int marks = frame[0].GetInt32();
            double atMs = frame[1].GetDouble();
            if (frame[3].GetInt32() == 1 && lastMs > 0) framesMs.Add(atMs - lastMs);
            lastMs = atMs;
            for (; next < marks && next < markMs.Count; next++)
                if (frame[3].GetInt32() == 1) delaysMs.Add(atMs - markMs[next]);
        }

        delaysMs.Sort();
        framesMs.Sort();
        TestContext.Current.TestOutputHelper!.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"pulses {descriptor.Counts.Received}, rate {descriptor.Counts.Marks / (markMs[^1] - markMs[0]) * 1000:F0}/s, lost on the line {descriptor.Counts.LostOnLine}, dropped {descriptor.Counts.DroppedByBoard}, missed {descriptor.Counts.Missed}; shown states {framesMs.Count}, apart by {At(framesMs, 0.5):F0} ms (median)"));
        TestContext.Current.TestOutputHelper!.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"pulse to screen over {delaysMs.Count} pulses: median {At(delaysMs, 0.5):F0} ms, 95 % {At(delaysMs, 0.95):F0} ms, 99 % {At(delaysMs, 0.99):F0} ms, longest {delaysMs[^1]:F0} ms, shortest {delaysMs[0]:F0} ms"));
        Assert.Equal(0, descriptor.Counts.LostOnLine + descriptor.Counts.DroppedByBoard + descriptor.Counts.Missed + descriptor.Counts.BadLines);
    }

    private static double At(List<double> sorted, double share) => sorted[(int)(share * (sorted.Count - 1))];
}
