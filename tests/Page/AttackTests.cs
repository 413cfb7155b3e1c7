using System.Net;
using System.Net.Sockets;
using System.Text;
using System.Text.Json;
using Acquire.Service.Capture;
using Acquire.Service.Page;
using Acquire.Service.Tests;

namespace Acquire.Page.Tests;

/// <summary>What somebody who means harm would try.</summary>
public sealed class AttackTests : IDisposable
{
    private static readonly string[] Climbs =
    [
        "..", "../..", "..%2f..%2fetc%2fpasswd", "%2e%2e%2f%2e%2e%2fetc%2fpasswd", "..%5c..%5cetc%5cpasswd", "%252e%252e%252fetc%252fpasswd", "/etc/passwd", "%2fetc%2fpasswd",
        "....//....//etc/passwd", "..%c0%af..%c0%afetc%c0%afpasswd", "%00", "datapackage.json%00.csv", ".page-password", ".trash", ".open", "..%2f.page-password", "con", "a%0d%0aSet-Cookie:%20x=y", "%ff",
    ];

    private readonly Bench _bench = new();
    private readonly string _run;

    public AttackTests() => _run = SampleRuns.Write(_bench.Library, SampleRuns.Make());

    public void Dispose() => _bench.Dispose();

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    private Served Serve(bool ask = false) => new(_bench, Served.Capture(() => new LiveState { LinkUp = true }), ask);

    /// <summary>Every endpoint that the interface's own description has.</summary>
    private static async Task<List<(HttpMethod Method, string Path)>> Endpoints(Served served)
    {
        JsonElement paths = (await served.Json("/api/openapi.json")).GetProperty("paths");
        return [.. paths.EnumerateObject().SelectMany(p => p.Value.EnumerateObject().Select(m => (HttpMethod.Parse(m.Name.ToUpperInvariant()), p.Name)))];
    }

    [Fact]
    public async Task No_name_in_a_path_leads_out_of_the_library()
    {
        using Served served = Serve(ask: true);
        Assert.Equal(HttpStatusCode.OK, await served.SignIn(Served.Password));
        int tried = 0;
        foreach ((HttpMethod method, string path) in (await Endpoints(served)).Where(e => e.Path.Contains('{', StringComparison.Ordinal)))
        {
            foreach (string climb in Climbs)
            {
                string[] ways = path.Contains("{file}", StringComparison.Ordinal)
                    ? [path.Replace("{run}", climb, StringComparison.Ordinal).Replace("{file}", "datapackage.json", StringComparison.Ordinal), path.Replace("{run}", _run, StringComparison.Ordinal).Replace("{file}", climb, StringComparison.Ordinal)]
                    : [path.Replace("{run}", climb, StringComparison.Ordinal)];
                foreach (string way in ways)
                {
                    using HttpResponseMessage answer = await Raw(served, method, way);
                    string text = await answer.Content.ReadAsStringAsync(Stop);
                    Assert.True((int)answer.StatusCode is >= 400 and < 500 || IsThePage(answer) || (climb is ".." or "../.." && method == HttpMethod.Get), $"{method} {way}: {(int)answer.StatusCode} {text}");
                    Assert.DoesNotContain("root:", text, StringComparison.Ordinal);
                    Assert.DoesNotContain("iterations", text, StringComparison.Ordinal);
                    tried++;
                }
            }
        }

        foreach (string query in Climbs.Where(c => c.Contains("etc", StringComparison.Ordinal)).SelectMany(c => new[]
        {
            $"/api/spindown?run={c}", $"/api/forecast?run={c}", $"/api/compare?baseline={c}&variant=cover%3Djar", $"/api/compare?baseline=cover%3Djar&variant={c}",
            $"/api/compare?baseline=cover%3D{c}&variant=cover%3Djar", $"/api/sweep?factor=dish_radius_mm&baseline={c}", $"/api/sweep?factor=dish_radius_mm&leaveOut={c}",
        }))
        {
            using HttpResponseMessage answer = await Raw(served, HttpMethod.Get, query);
            string text = await answer.Content.ReadAsStringAsync(Stop);
            Assert.True((int)answer.StatusCode is >= 400 and < 500, $"{query}: {(int)answer.StatusCode} {text}");
            Assert.DoesNotContain("root:", text, StringComparison.Ordinal);
            tried++;
        }

        Assert.True(tried > 200, $"only {tried} tried");
        Assert.True(Directory.Exists(Path.Combine(_bench.Library, _run)), "the run is where it was");
    }

    [Fact]
    public async Task A_descriptor_that_names_files_elsewhere_opens_none_of_them()
    {
        string descriptor = Path.Combine(_bench.Library, _run, "datapackage.json");
        string secret = Path.Combine(_bench.Library, "secret.csv");
        File.WriteAllText(secret, "secret");
        File.WriteAllText(descriptor, File.ReadAllText(descriptor).Replace("\"events.csv\"", "\"../secret.csv\"", StringComparison.Ordinal));
        File.Delete(Path.Combine(_bench.Library, _run, "speed.csv"));
        File.CreateSymbolicLink(Path.Combine(_bench.Library, _run, "speed.csv"), secret);
        using Served served = Serve();
        Assert.DoesNotContain("secret", (await served.Json($"/api/runs/{_run}")).GetProperty("files").GetRawText(), StringComparison.Ordinal);
        foreach (string file in new[] { "..%2fsecret.csv", "speed.csv" })
        {
            using HttpResponseMessage answer = await Raw(served, HttpMethod.Get, $"/api/runs/{_run}/files/{file}");
            Assert.Equal(404, (int)answer.StatusCode);
        }

        byte[] zip = await served.Client.GetByteArrayAsync(new Uri($"/api/runs/{_run}/zip", UriKind.Relative), Stop);
        await using var archive = await System.IO.Compression.ZipArchive.CreateAsync(new MemoryStream(zip), System.IO.Compression.ZipArchiveMode.Read, false, null, Stop);
        Assert.Equal(["datapackage.json", "pulses.csv"], archive.Entries.Select(e => e.Name).Order());
    }

    [Fact]
    public async Task Whoever_is_not_signed_in_gets_nothing_from_any_endpoint()
    {
        using Served served = Serve(ask: true);
        _ = await served.Json("/api/session");
        int refused = 0;
        foreach ((HttpMethod method, string path) in await Endpoints(served))
        {
            string way = path.Replace("{run}", _run, StringComparison.Ordinal).Replace("{file}", "datapackage.json", StringComparison.Ordinal);
            bool open = way == "/api/session" && method != HttpMethod.Delete;
            if (open) continue;
            using HttpResponseMessage answer = await served.Send(method, way, method == HttpMethod.Get ? null : "{}");
            Assert.True(answer.StatusCode == HttpStatusCode.Unauthorized, $"{method} {way}: {(int)answer.StatusCode}");
            Assert.DoesNotContain("oak", await answer.Content.ReadAsStringAsync(Stop), StringComparison.Ordinal);
            refused++;
        }

        Assert.True(refused >= 29, $"only {refused} endpoints");
        Assert.True(Directory.Exists(Path.Combine(_bench.Library, _run)), "the run is where it was");
    }

    [Fact]
    public async Task A_change_needs_the_token_of_the_same_session_and_the_same_site()
    {
        using Served served = Serve();
        using Served other = Serve();
        string foreignToken = (await other.Json("/api/session")).GetProperty("token").GetString()!;
        string own = served.Address.GetLeftPart(UriPartial.Authority);
        int refused = 0;
        foreach ((HttpMethod method, string path) in (await Endpoints(served)).Where(e => e.Method != HttpMethod.Get))
        {
            string way = path.Replace("{run}", _run, StringComparison.Ordinal);
            foreach ((bool token, (string, string)[] headers) in new (bool, (string, string)[])[]
            {
                (false, []), (false, [(PageSessions.TokenHeader, "")]), (false, [(PageSessions.TokenHeader, "nonsense")]), (false, [(PageSessions.TokenHeader, foreignToken)]),
                (false, [("Origin", own), ("Sec-Fetch-Site", "same-origin")]), (true, [("Origin", "http://elsewhere.example")]), (true, [("Origin", "null")]),
                (true, [("Sec-Fetch-Site", "cross-site")]), (true, [("Sec-Fetch-Site", "same-site")]), (true, [("Origin", $"http://127.0.0.1:{served.Address.Port + 1}")]),
            })
            {
                using HttpResponseMessage answer = await served.Send(method, way, "{\"top\":\"changed\"}", token, headers);
                Assert.True((int)answer.StatusCode is 400 or 403, $"{method} {way} {string.Join(' ', headers)}: {(int)answer.StatusCode}");
                refused++;
            }
        }

        Assert.True(refused >= 80, $"only {refused} tried");
        Assert.DoesNotContain("changed", (await served.Json("/api/runs")).GetRawText(), StringComparison.Ordinal);
        using HttpResponseMessage right = await served.Send(HttpMethod.Patch, $"/api/runs/{_run}", "{\"top\":\"changed\"}", true, ("Origin", own), ("Sec-Fetch-Site", "same-origin"));
        Assert.Equal(HttpStatusCode.OK, right.StatusCode);
        using HttpResponseMessage read = await served.Send(HttpMethod.Get, "/api/runs", null, false, ("Sec-Fetch-Site", "cross-site"));
        Assert.Equal(HttpStatusCode.Forbidden, read.StatusCode);
    }

    [Fact]
    public async Task Guessing_the_password_comes_to_an_end_soon_and_the_right_one_too_must_wait_then()
    {
        using Served served = Serve(ask: true);
        var answers = new List<int>();
        for (int i = 0; i < 20; i++) answers.Add((int)await served.SignIn($"guess number {i}"));
        Assert.Equal(PageLimits.TriesOfOne, answers.Count(a => a == 401));
        Assert.Equal(20 - PageLimits.TriesOfOne, answers.Count(a => a == 429));
        Assert.Equal(HttpStatusCode.TooManyRequests, await served.SignIn(Served.Password));
        using HttpResponseMessage told = await served.Send(HttpMethod.Post, "/api/session", "{\"password\":\"x\"}");
        Assert.InRange(told.Headers.RetryAfter!.Delta!.Value.TotalSeconds, 1, 60);
    }

    [Fact]
    public async Task A_session_is_a_strict_cookie_that_no_script_reads_and_ends_with_the_password()
    {
        using Served served = Serve(ask: true);
        using HttpResponseMessage answer = await served.Send(HttpMethod.Post, "/api/session", JsonSerializer.Serialize(new { password = Served.Password }));
        string[] cookies = [.. answer.Headers.GetValues("Set-Cookie")];
        Assert.Contains(cookies, c => c.StartsWith("acquire-session=", StringComparison.Ordinal));
        Assert.All(cookies, c => Assert.True(c.Contains("httponly", StringComparison.OrdinalIgnoreCase) && c.Contains("samesite=strict", StringComparison.OrdinalIgnoreCase), c));
        _ = await served.Json("/api/runs");
        PagePassword.Write(served.Settings.PasswordFile, "another password");
        using HttpResponseMessage after = await served.Client.GetAsync(new Uri("/api/runs", UriKind.Relative), Stop);
        Assert.Equal(HttpStatusCode.Unauthorized, after.StatusCode);
    }

    [Theory]
    [InlineData("evil.example")]
    [InlineData("127.0.0.1.evil.example")]
    [InlineData("localhost.evil.example:80")]
    [InlineData("192.168.1.9")]
    public async Task A_name_that_is_not_this_computers_is_not_answered(string host)
    {
        using Served served = Serve();
        using var request = new HttpRequestMessage(HttpMethod.Get, new Uri("/api/live", UriKind.Relative));
        request.Headers.Host = host;
        using HttpResponseMessage answer = await served.Client.SendAsync(request, Stop);
        Assert.Equal(HttpStatusCode.Forbidden, answer.StatusCode);
    }

    [Fact]
    public async Task Too_much_is_not_taken()
    {
        using Served served = Serve();
        string large = "{\"top\":\"" + new string('x', 70_000) + "\"}";
        var statuses = new List<int>();
        foreach ((HttpMethod method, string path) in (await Endpoints(served)).Where(e => e.Method == HttpMethod.Put || e.Method == HttpMethod.Patch))
        {
            using HttpResponseMessage answer = await served.Send(method, path.Replace("{run}", _run, StringComparison.Ordinal), large);
            statuses.Add((int)answer.StatusCode);
        }

        Assert.All(statuses, s => Assert.Equal(413, s));
        foreach (string body in new[] { new string('[', 20_000), "{\"setup\":{\"factors\":{\"x\":1e999}}}", "{\"setup\":{\"top\":\"a\\u0000b\"}}", "{\"setup\":null}", "null", "{", "{\"setup\":{},\"setup\":{}}", "{\"label\":{}}" })
        {
            using HttpResponseMessage answer = await served.Send(HttpMethod.Put, "/api/next", body);
            Assert.True(answer.StatusCode == HttpStatusCode.BadRequest, $"{body[..Math.Min(40, body.Length)]}: {(int)answer.StatusCode}");
        }

        Assert.StartsWith("HTTP/1.1 431", await Said(served, "GET /api/live HTTP/1.1\r\nHost: localhost\r\nX: " + new string('y', 20_000) + "\r\n\r\n"), StringComparison.Ordinal);
        Assert.StartsWith("HTTP/1.1 414", await Said(served, "GET /api/live?" + new string('y', 10_000) + " HTTP/1.1\r\nHost: localhost\r\n\r\n"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Those_who_say_their_request_byte_by_byte_are_let_go_and_others_are_served_meanwhile()
    {
        using Served served = Serve();
        var slow = new List<TcpClient>();
        for (int i = 0; i < 50; i++)
        {
            var client = new TcpClient();
            await client.ConnectAsync(IPAddress.Loopback, served.Address.Port, Stop);
            await client.GetStream().WriteAsync(Encoding.ASCII.GetBytes("GET /api/live HTTP/1.1\r\nHost: localh"), Stop);
            slow.Add(client);
        }

        _ = await served.Json("/api/live");
        int let = 0;
        foreach (TcpClient client in slow)
        {
            using var limit = CancellationTokenSource.CreateLinkedTokenSource(Stop);
            limit.CancelAfter(TimeSpan.FromSeconds(40));
            byte[] buffer = new byte[4096];
            string said = "";
            for (int got = await client.GetStream().ReadAsync(buffer, limit.Token); got > 0; got = await client.GetStream().ReadAsync(buffer, limit.Token))
                said += Encoding.ASCII.GetString(buffer, 0, got);
            let += said.Length == 0 || said.StartsWith("HTTP/1.1 408", StringComparison.Ordinal) ? 1 : 0;
            client.Dispose();
        }

        Assert.Equal(50, let);
    }

    [Fact]
    public async Task More_streams_than_there_are_places_for_are_refused_and_the_rest_go_on()
    {
        using Served served = Serve();
        var open = new List<HttpResponseMessage>();
        for (int i = 0; i < LiveStream.Most; i++) open.Add(await served.Client.GetAsync(new Uri("/api/live/events", UriKind.Relative), HttpCompletionOption.ResponseHeadersRead, Stop));
        using HttpResponseMessage tooMany = await served.Client.GetAsync(new Uri("/api/live/events", UriKind.Relative), HttpCompletionOption.ResponseHeadersRead, Stop);
        Assert.Equal(HttpStatusCode.ServiceUnavailable, tooMany.StatusCode);
        Assert.NotNull(tooMany.Headers.RetryAfter);
        Assert.All(open, o => Assert.True(o.IsSuccessStatusCode));
        foreach (HttpResponseMessage one in open) one.Dispose();
        await Served.Until(async () =>
        {
            using HttpResponseMessage again = await served.Client.GetAsync(new Uri("/api/live/events", UriKind.Relative), HttpCompletionOption.ResponseHeadersRead, Stop);
            return again.IsSuccessStatusCode;
        }, "the places are free again");
    }

    [Fact]
    public async Task Nothing_that_is_sent_becomes_a_header_of_an_answer()
    {
        using Served served = Serve();
        foreach (string text in new[] { "%0d%0aX-Evil:%20yes", "%0aX-Evil:%20yes", "%e5%98%8a%e5%98%8dX-Evil:%20yes" })
        {
            foreach (string path in new[] { $"/api/runs/{text}", $"/api/runs/{_run}/files/{text}", $"/api/compare?baseline={text}&variant=a", $"/api/runs/{_run}/curve?points={text}", $"/{text}" })
            {
                using HttpResponseMessage answer = await Raw(served, HttpMethod.Get, path);
                Assert.False(answer.Headers.Contains("X-Evil"));
            }
        }

        using HttpResponseMessage stream = await served.Send(HttpMethod.Get, "/api/live/events", null, false, ("Last-Event-ID", "1: x\tX-Evil: yes"));
        Assert.False(stream.Headers.Contains("X-Evil"));
        Assert.StartsWith("HTTP/1.1 400", await Said(served, "GET /api/live HTTP/1.1\r\nHost: localhost\r\nX-A: b\rX-Evil: c\r\n\r\n"), StringComparison.Ordinal);
        Assert.StartsWith("HTTP/1.1 400", await Said(served, "GET /api/live HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Every_answer_forbids_what_a_page_of_ours_does_not_need()
    {
        Directory.CreateDirectory(Path.Combine(_bench.Program, "wwwroot"));
        File.WriteAllText(Path.Combine(_bench.Program, "wwwroot", "index.html"), "<!doctype html><title>invented</title>");
        File.WriteAllText(Path.Combine(_bench.Library, _run, "report.html"), "<!doctype html><script>alert(1)</script>");
        using Served served = Serve();
        foreach (string path in new[] { "/", "/index.html", "/bench", "/runs/x", "/api/live", "/api/runs", "/api/nothing", "/nothing", "/api/session" })
        {
            using HttpResponseMessage answer = await served.Client.GetAsync(new Uri(path, UriKind.Relative), Stop);
            string policy = answer.Headers.GetValues("Content-Security-Policy").Single();
            Assert.Contains("default-src 'none'", policy, StringComparison.Ordinal);
            Assert.Contains("frame-ancestors 'none'", policy, StringComparison.Ordinal);
            Assert.DoesNotContain("unsafe", policy, StringComparison.Ordinal);
            Assert.Equal("nosniff", answer.Headers.GetValues("X-Content-Type-Options").Single());
            Assert.False(answer.Headers.Contains("Server"));
        }

        using HttpResponseMessage report = await served.Client.GetAsync(new Uri($"/api/runs/{_run}/report", UriKind.Relative), Stop);
        string ofReport = report.Headers.GetValues("Content-Security-Policy").Single();
        Assert.StartsWith("sandbox; default-src 'none'", ofReport, StringComparison.Ordinal);
        Assert.DoesNotContain("script", ofReport, StringComparison.Ordinal);
    }

    // A path as it is written here, which a Uri would tidy up.
    private static async Task<HttpResponseMessage> Raw(Served served, HttpMethod method, string path)
    {
        using var request = new HttpRequestMessage(method, new Uri(served.Address.GetLeftPart(UriPartial.Authority) + path, new UriCreationOptions { DangerousDisablePathAndQueryCanonicalization = true }));
        if (method != HttpMethod.Get)
        {
            if (served.Token.Length == 0) (await served.Send(HttpMethod.Post, "/api/live/end")).Dispose();
            request.Headers.Add(PageSessions.TokenHeader, served.Token);
            request.Content = new StringContent("{}", Encoding.UTF8, "application/json");
        }

        return await served.Client.SendAsync(request, Stop);
    }

    // Where a path is climbed in the browser's manner it may come to be one of the page's own.
    private static bool IsThePage(HttpResponseMessage answer) => answer.StatusCode == HttpStatusCode.OK && answer.RequestMessage!.Method == HttpMethod.Get && answer.Content.Headers.ContentType?.MediaType is "text/plain" or "text/html";

    private static async Task<string> Said(Served served, string request)
    {
        using var client = new TcpClient();
        await client.ConnectAsync(IPAddress.Loopback, served.Address.Port, Stop);
        try
        {
            await client.GetStream().WriteAsync(Encoding.ASCII.GetBytes(request), Stop);
        }
        catch (IOException)
        {
            // It was refused before it was said to the end.
        }

        byte[] buffer = new byte[4096];
        int got = await client.GetStream().ReadAsync(buffer, Stop);
        return Encoding.ASCII.GetString(buffer, 0, got);
    }
}
