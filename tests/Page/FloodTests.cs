using System.Diagnostics;
using System.Globalization;
using System.Net.ServerSentEvents;
using System.Runtime.InteropServices;
using System.Text;
using System.Text.Json;
using Acquire.Recording;
using Acquire.Service.Tests;

namespace Acquire.Page.Tests;

/// <summary>The program itself with twenty pages open, fed a thousand pulses a second through a pseudo-terminal.</summary>
public sealed partial class FloodTests : IDisposable
{
    private const int Pages = 20;
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    [Fact]
    public async Task With_twenty_pages_open_no_pulse_of_a_thousand_a_second_is_lost()
    {
        string port = Path.Combine(_bench.Folder, "board");
        using Process board = Start("Acquire.Player.dll", "--link", port, "--speed", "1", "--minutes", "0.3", "--peak", "11000", "--topple", "2000", "--marks", "8", "--baud", "2000000", "--idle", "3", "--rest", "60", "--misses", "0", "--glints", "0");
        Task<string> truth = board.StandardOutput.ReadToEndAsync(TestContext.Current.CancellationToken);
        await Served.Until(() => Task.FromResult(File.Exists(port)), "the board's port");
        using Process serve = Start("acquire.dll", "serve", "--port", port, "--marks", "8", "--library", _bench.Library, "--listen", "127.0.0.1:0");
        var said = new StringBuilder();
        serve.ErrorDataReceived += (_, line) =>
        {
            lock (said) said.Append(line.Data).Append('\n');
        };
        serve.BeginErrorReadLine();
        Task<string> runs = serve.StandardOutput.ReadToEndAsync(TestContext.Current.CancellationToken);
        string address = "";
        await Served.Until(() => Task.FromResult((address = Address(said)).Length > 0), "the page's address", 60);

        using var client = new HttpClient { BaseAddress = new Uri(address) };
        using var end = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        var told = new int[Pages];
        Task[] pages = [.. Enumerable.Range(0, Pages).Select(i => Task.Run(() => Follow(client, told, i, end.Token)))];
        await Served.Until(async () => (await Live(client)).GetProperty("finishedRuns").GetInt32() == 1, "the run is saved", 120);
        await end.CancelAsync();
        await Task.WhenAll(pages);
        Assert.Equal(0, kill(serve.Id, 2));
        Assert.True(serve.WaitForExit(30_000), said.ToString());
        Assert.Equal(130, serve.ExitCode);

        string run = (await runs).TrimEnd('\n').Split('\n')[^1];
        RunDescriptor found = RunPackageReader.ReadDescriptor(run);
        kill(board.Id, 2);
        JsonElement board0 = JsonDocument.Parse(await truth).RootElement;
        Assert.Equal((board0.GetProperty("marksSeen").GetInt64(), 0, 0, 0, 0), (found.Counts.Marks, found.Counts.Missed, found.Counts.LostOnLine, found.Counts.DroppedByBoard, found.Counts.BadLines));
        Assert.True(found.Counts.Marks > 8000, $"{found.Counts.Marks} marks");
        Assert.All(told, t => Assert.True(t > 30, $"a page was told {t} times only"));
    }

    private static async Task Follow(HttpClient client, int[] told, int page, CancellationToken end)
    {
        try
        {
            await foreach (SseItem<string> item in EventReader.Listen(client, null, end)) told[page] += item.EventType == "live" ? 1 : 0;
        }
        catch (OperationCanceledException)
        {
            // It was closed.
        }
    }

    private static async Task<JsonElement> Live(HttpClient client) =>
        JsonDocument.Parse(await client.GetStringAsync(new Uri("/api/live", UriKind.Relative), TestContext.Current.CancellationToken)).RootElement;

    private static string Address(StringBuilder said)
    {
        string text;
        lock (said) text = said.ToString();
        int at = text.IndexOf("http://127.0.0.1:", StringComparison.Ordinal);
        return at < 0 ? "" : string.Create(CultureInfo.InvariantCulture, $"{text[at..].Split('\n', ' ', ',')[0]}");
    }

    private static Process Start(string program, params string[] words)
    {
        var start = new ProcessStartInfo("dotnet", [Path.Combine(AppContext.BaseDirectory, program), .. words]) { RedirectStandardOutput = true, RedirectStandardError = true, RedirectStandardInput = true };
        start.Environment["DOTNET_NOLOGO"] = "1";
        start.Environment.Remove("ACQUIRE_LIBRARY");
        return Process.Start(start)!;
    }

    [LibraryImport("libc")]
    private static partial int kill(int process, int signal);
}
