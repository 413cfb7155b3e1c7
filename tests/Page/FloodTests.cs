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
    private const int Pulses = 12_000;
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    [Fact]
    public async Task With_twenty_pages_open_no_pulse_of_a_thousand_a_second_is_lost()
    {
        string port = Path.Combine(_bench.Folder, "board");
        using Process board = Start("Acquire.Player.dll", "--link", port, "--speed", "1", "--minutes", "5", "--peak", "7600", "--topple", "900", "--marks", "8", "--baud", "2000000", "--idle", "2", "--rest", "3", "--misses", "0", "--glints", "0");
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
        await Served.Until(async () => (await Live(client)).GetProperty("pulses").GetInt64() >= Pulses, "enough pulses", 60);
        await EndByHand(client);
        await Served.Until(async () => (await Live(client)).GetProperty("finishedRuns").GetInt32() == 1, "the run is saved", 60);
        await end.CancelAsync();
        await Task.WhenAll(pages);
        Assert.Equal(0, kill(serve.Id, 2));
        Assert.True(serve.WaitForExit(30_000), said.ToString());
        Assert.Equal(130, serve.ExitCode);

        string run = (await runs).TrimEnd('\n').Split('\n')[^1];
        RunDescriptor found = RunPackageReader.ReadDescriptor(run);
        Assert.Equal((0, 0, 0, 0), (found.Counts.Missed, found.Counts.LostOnLine, found.Counts.DroppedByBoard, found.Counts.BadLines));
        Assert.True(found.Counts.Marks >= Pulses, $"{found.Counts.Marks} marks");
        board.Kill();
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

    private static async Task EndByHand(HttpClient client)
    {
        JsonElement session = JsonDocument.Parse(await client.GetStringAsync(new Uri("/api/session", UriKind.Relative), TestContext.Current.CancellationToken)).RootElement;
        using var request = new HttpRequestMessage(HttpMethod.Post, new Uri("/api/live/end", UriKind.Relative)) { Content = new StringContent("{}", Encoding.UTF8, "application/json") };
        request.Headers.Add("X-Acquire-Token", session.GetProperty("token").GetString());
        using HttpResponseMessage answer = await client.SendAsync(request, TestContext.Current.CancellationToken);
        Assert.Equal(202, (int)answer.StatusCode);
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
