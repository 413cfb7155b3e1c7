using System.Globalization;
using System.Text.Json;
using Acquire.Terminals;
using Microsoft.Playwright;
using Xunit;

namespace Acquire.Browser.Tests;

/// <summary>How long a pulse takes from the port to a drawn frame, measured, not tested: <c>-explicit only -class Acquire.Browser.Tests.PageDelay -showLiveOutput</c>.</summary>
[Collection(BenchServiceTests.Name)]
public sealed class PageDelay(BenchService bench)
{
    private const int PulsesPerS = 1040; // at the top
    private const int Marks = 8;
    private const double LaunchS = 0.7;
    private const double DecayS = 600;
    private const int Seconds = 60;
    private const double SettleS = 15; // a browser goes on working for a while after a page has come
    private const int TickHz = 1_000_000;
    private const int Pages = 20;

    // States are told at the beginning of a frame, so a message comes after it is laid out: notes how many pulses it had counted and when that was.
    private const string Watch = """
        () => import('/live.js').then(({ live }) => {
            window.shown = [];
            live.addEventListener('live', e => {
                const drawn = new MessageChannel();
                drawn.port1.onmessage = () => window.shown.push([e.detail.pulses, Date.now()]);
                drawn.port2.postMessage(0);
            });
        })
        """;

    /// <param name="drawn">How many of the pages are drawn by a browser on this same computer; the others only take the stream, as a browser elsewhere would.</param>
    [Theory(Explicit = true)]
    [InlineData(1)]
    [InlineData(Pages)]
    public async Task Pulse_to_screen_at_1000_pulses_a_second_with_20_pages(int drawn)
    {
        CancellationToken cancel = TestContext.Current.CancellationToken;
        string library = Directory.CreateTempSubdirectory("acquire-delay-").FullName;
        using var terminal = new PseudoTerminal();
        (Running service, string address) = await BenchService.Serve(
            "--library", library, "--port", terminal.PortPath, "--format", "ticks", "--tick-hz", $"{TickHz}", "--marks", $"{Marks}");
        using (service)
        using (var http = new HttpClient { BaseAddress = new Uri(address) })
        {
            var pages = new List<IPage>();
            for (int i = 0; i < drawn; i++) pages.Add(await bench.Visit("/bench", address: address));
            using var end = CancellationTokenSource.CreateLinkedTokenSource(cancel);
            await http.GetStringAsync(new Uri("/api/session", UriKind.Relative), cancel);
            for (int i = drawn; i < Pages; i++) _ = Listen(http, end.Token);
            await pages[0].EvaluateAsync(Watch);
            await Task.Delay(TimeSpan.FromSeconds(SettleS), TimeProvider.System, cancel);
            double[] sentMs = await Task.Run(() => Play(terminal), cancel);
            await pages[0].WaitForFunctionAsync($"() => window.shown.length && window.shown.at(-1)[0] >= {sentMs.Length}", null, new() { Timeout = 60_000 });
            Report(drawn, sentMs, await pages[0].EvaluateAsync<JsonElement>("window.shown"), await http.GetStringAsync(new Uri("/api/live", UriKind.Relative), cancel));
            await end.CancelAsync();
            foreach (IPage page in pages) await bench.Leave(page);
        }

        Directory.Delete(library, recursive: true);
    }

    // An invented spin of a body with many marks: launched in a moment, then slowing as in air.
    private static List<double> Spin()
    {
        var dueS = new List<double>();
        for (double s = LaunchS / 10; s < Seconds; s += 1 / (PulsesPerS * Math.Min(s / LaunchS, 1) * Math.Exp(-s / DecayS))) dueS.Add(s);
        return dueS;
    }

    private static double[] Play(PseudoTerminal terminal)
    {
        using var never = new ManualResetEventSlim();
        List<double> spin = Spin();
        var sentMs = new double[spin.Count];
        long began = TimeProvider.System.GetTimestamp();
        for (int i = 0; i < sentMs.Length; i++)
        {
            while (TimeProvider.System.GetElapsedTime(began).TotalSeconds < spin[i]) never.Wait(1);
            sentMs[i] = (TimeProvider.System.GetUtcNow() - DateTimeOffset.UnixEpoch).TotalMilliseconds;
            terminal.Write(string.Create(CultureInfo.InvariantCulture, $"{(long)(spin[i] * TickHz)}\n"));
        }

        return sentMs;
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

    private static void Report(int drawn, double[] sentMs, JsonElement shown, string live)
    {
        var delaysMs = new List<double>();
        int told = 0;
        foreach (JsonElement frame in shown.EnumerateArray())
            for (; told < frame[0].GetInt32() && told < sentMs.Length; told++) delaysMs.Add(frame[1].GetDouble() - sentMs[told]);
        delaysMs.Sort();
        double At(double share) => delaysMs[(int)(share * (delaysMs.Count - 1))];
        JsonElement last = JsonDocument.Parse(live).RootElement;
        Assert.Equal("spinning", last.GetProperty("phase").GetString());
        TestContext.Current.TestOutputHelper!.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{Pages} pages, {drawn} drawn here: {last.GetProperty("pulses").GetInt64()} of {sentMs.Length} pulses received, {last.GetProperty("losses").GetRawText()}; pulse to drawn frame: median {At(0.5):F0} ms, 95 % {At(0.95):F0} ms, 99 % {At(0.99):F0} ms, longest {At(1):F0} ms, {shown.GetArrayLength()} frames"));
        Assert.Equal(sentMs.Length, last.GetProperty("pulses").GetInt64());
    }
}
