using System.Diagnostics;
using System.Globalization;
using System.IO.Compression;
using System.Net.Http.Headers;
using System.Net.ServerSentEvents;
using System.Text;
using System.Text.Json;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Terminals;

namespace Acquire.Benchmarks;

/// <summary>The page beside a capture, both in the program itself: how long a pulse takes from the port to those who listen, and how soon a large library is there.</summary>
internal static class PageTable
{
    private const int Pages = 20;
    private const int PulsesPerS = 1000;
    private const int Runs = 5000;
    private const int RowsOfRun = 4500; // 75 minutes
    private const double TickHz = 1_000_000;

    /// <summary>Measures and prints.</summary>
    internal static int Run(MeasureOptions options)
    {
        string folder = Directory.CreateDirectory(Path.Combine(options.Folder, $"acquire-page-{Environment.ProcessId}")).FullName;
        try
        {
            Latency(Path.Combine(folder, "live"), options.Pulses / PulsesPerS).GetAwaiter().GetResult();
            Library(Path.Combine(folder, "library")).GetAwaiter().GetResult();
            return 0;
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task Latency(string library, int seconds)
    {
        using var terminal = new PseudoTerminal();
        using Process serve = Serve("--port", terminal.PortPath, "--format", "ticks", "--tick-hz", TickHz.ToString(CultureInfo.InvariantCulture), "--library", library);
        using HttpClient client = await Client(serve);
        using var end = new CancellationTokenSource();
        var sent = new long[(seconds * PulsesPerS) + 1];
        var heard = new List<double>[Pages];
        Task[] pages = [.. Enumerable.Range(0, Pages).Select(i => Task.Run(() => Listen(client, sent, heard[i] = [], end.Token)))];
        await Until(async () => (await Json(client, "/api/live")).GetProperty("linkUp").GetBoolean());
        await Task.Delay(TimeSpan.FromSeconds(2), TimeProvider.System);
        var board = new Thread(() => Play(terminal, sent)) { Name = "board" };
        board.Start();
        board.Join();
        await Until(async () => (await Json(client, "/api/live")).GetProperty("pulses").GetInt64() >= sent.Length - 1);
        await Task.Delay(TimeSpan.FromSeconds(1), TimeProvider.System);
        await end.CancelAsync();
        await Task.WhenAll(pages);
        JsonElement last = await Json(client, "/api/live");
        double[] all = [.. heard.SelectMany(h => h).Order()];
        Console.WriteLine($"{Pages} pages, {PulsesPerS} pulses/s for {seconds} s: {last.GetProperty("pulses").GetInt64()} of {sent.Length - 1} pulses received, losses {last.GetProperty("losses").GetRawText()}");
        Console.WriteLine($"pulse to page: median {1000 * all[all.Length / 2]:F0} ms, 95th percentile {1000 * all[(int)(0.95 * all.Length)]:F0} ms, most {1000 * all[^1]:F0} ms ({all.Length} pulses and pages)");
        Console.WriteLine($"program: {serve.WorkingSet64 >> 20} MB resident, {serve.TotalProcessorTime.TotalSeconds:F1} s of processor in all");
        serve.Kill();
    }

    // A pulse counts for a page when the first state comes that has counted it.
    private static async Task Listen(HttpClient client, long[] sent, List<double> heard, CancellationToken end)
    {
        try
        {
            await using Stream stream = await client.GetStreamAsync(new Uri("/api/live/events", UriKind.Relative), end);
            int told = 0;
            await foreach (SseItem<string> item in SseParser.Create(stream).EnumerateAsync(end))
            {
                if (item.EventType != "live") continue;
                int pulses = JsonDocument.Parse(item.Data).RootElement.GetProperty("pulses").GetInt32();
                long now = TimeProvider.System.GetTimestamp();
                for (; told < pulses && told + 1 < sent.Length; told++) heard.Add(TimeProvider.System.GetElapsedTime(Volatile.Read(ref sent[told + 1]), now).TotalSeconds);
            }
        }
        catch (OperationCanceledException)
        {
            // It was closed.
        }
    }

    private static void Play(PseudoTerminal terminal, long[] sent)
    {
        using var never = new ManualResetEventSlim();
        long began = TimeProvider.System.GetTimestamp();
        for (int i = 1; i < sent.Length; i++)
        {
            double dueS = (double)i / PulsesPerS;
            while (TimeProvider.System.GetElapsedTime(began).TotalSeconds < dueS) never.Wait(1);
            Volatile.Write(ref sent[i], TimeProvider.System.GetTimestamp());
            terminal.Write(string.Create(CultureInfo.InvariantCulture, $"{(long)(dueS * TickHz)}\n"));
        }
    }

    private static async Task Library(string library)
    {
        Write(library);
        long began = TimeProvider.System.GetTimestamp();
        using Process serve = Serve("--library", library);
        using HttpClient client = await Client(serve);
        double upS = TimeProvider.System.GetElapsedTime(began).TotalSeconds;
        await Until(async () => !(await Json(client, "/api/runs")).GetProperty("indexing").GetBoolean());
        double wholeS = TimeProvider.System.GetElapsedTime(began).TotalSeconds;
        client.DefaultRequestHeaders.AcceptEncoding.Add(new StringWithQualityHeaderValue("gzip"));
        var times = new List<double>();
        byte[] packed = [];
        for (int i = 0; i < 10; i++)
        {
            long asked = TimeProvider.System.GetTimestamp();
            packed = await client.GetByteArrayAsync(new Uri("/api/runs", UriKind.Relative));
            times.Add(TimeProvider.System.GetElapsedTime(asked).TotalSeconds);
        }

        using var plain = new MemoryStream();
        await using (var gzip = new GZipStream(new MemoryStream(packed), CompressionMode.Decompress)) await gzip.CopyToAsync(plain);
        serve.Refresh();
        Console.WriteLine($"{Runs} runs: page up after {upS:F1} s, all runs there after {wholeS:F1} s; GET /api/runs {1000 * times.Order().ElementAt(5):F0} ms (median of 10), {packed.Length / 1000} kB packed, {plain.Length / 1000} kB plain; {serve.WorkingSet64 >> 20} MB resident");
        serve.Kill();
    }

    // One run is written as any is, and copied with other names and times.
    private static void Write(string library)
    {
        string one = RunPackageWriter.Write(library, new FinishedRun
        {
            Descriptor = new RunDescriptor
            {
                Software = "acquire",
                StartedAt = new DateTimeOffset(2027, 3, 14, 9, 26, 53, TimeSpan.Zero),
                EndReason = EndReasons.Stopped,
                Setup = new() { Top = "oak rim", Base = "glass", Cover = "jar", Operator = "A", Note = "invented", Factors = new SortedDictionary<string, double> { ["dish_radius_mm"] = 80 } },
                Source = new("simulation", "invented", TickHz, 1, [0]),
                Clock = new(0, 0.5, "synchronised"),
                Counts = new(0, 0, 0, 0, 0, 0, 0, 0),
                Result = new(2000, 0.1, 0, RowsOfRun, RowsOfRun, 0.1, 250),
            },
            Pulses = [],
            SecondsPerTick = 1 / TickHz,
            Speed = [.. Enumerable.Range(0, RowsOfRun).Select(i => new SpeedPoint(i, 2000 * Math.Exp(-i / 2200.0), 0.01, 0.5, 0.002))],
            Events = [new(0, RunEventNames.Launch, ""), new(0, RunEventNames.Release, ""), new(RowsOfRun, RunEventNames.Stop, "")],
        });
        string descriptor = File.ReadAllText(Path.Combine(one, "datapackage.json"));
        for (int i = 1; i < Runs; i++)
        {
            DateTimeOffset start = new DateTimeOffset(2027, 3, 14, 9, 26, 53, TimeSpan.Zero).AddHours(i);
            string folder = Directory.CreateDirectory(Path.Combine(library, start.UtcDateTime.ToString("yyyyMMdd'T'HHmmss'Z'", CultureInfo.InvariantCulture) + "-oak-rim")).FullName;
            foreach (string file in new[] { "pulses.csv", "events.csv", "speed.csv" }) File.Copy(Path.Combine(one, file), Path.Combine(folder, file));
            File.WriteAllText(Path.Combine(folder, "datapackage.json"), descriptor
                .Replace("2027-03-14T09:26:53", start.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss", CultureInfo.InvariantCulture), StringComparison.Ordinal)
                .Replace("\"dish_radius_mm\": 80", string.Create(CultureInfo.InvariantCulture, $"\"dish_radius_mm\": {60 + (i % 41)}"), StringComparison.Ordinal));
        }
    }

    private static Process Serve(params string[] words)
    {
        var start = new ProcessStartInfo("dotnet", [Path.Combine(AppContext.BaseDirectory, "acquire.dll"), "serve", "--listen", "127.0.0.1:0", .. words]) { RedirectStandardError = true, RedirectStandardOutput = true };
        start.Environment.Remove("ACQUIRE_LIBRARY");
        return Process.Start(start)!;
    }

    private static async Task<HttpClient> Client(Process serve)
    {
        var said = new StringBuilder();
        for (string? line = await serve.StandardError.ReadLineAsync(); line is not null; line = await serve.StandardError.ReadLineAsync())
        {
            said.AppendLine(line);
            int at = line.IndexOf("http://127.0.0.1:", StringComparison.Ordinal);
            if (at < 0) continue;
            _ = serve.StandardError.ReadToEndAsync();
            return new HttpClient { BaseAddress = new Uri(line[at..].Split(' ', ',')[0]) };
        }

        throw new InvalidOperationException(said.ToString());
    }

    private static async Task<JsonElement> Json(HttpClient client, string path) => JsonDocument.Parse(await client.GetStringAsync(new Uri(path, UriKind.Relative))).RootElement;

    private static async Task Until(Func<Task<bool>> holds)
    {
        while (!await holds()) await Task.Delay(TimeSpan.FromMilliseconds(50), TimeProvider.System);
    }
}
