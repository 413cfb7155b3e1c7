using System.Net;
using System.Text;
using System.Text.Json;
using Acquire.Service.Capture;
using Acquire.Service.Page;
using Acquire.Service.Plans;
using Acquire.Service.Tests;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Page.Tests;

/// <summary>The real host of the page at a free port of this computer, and one who asks it.</summary>
internal sealed class Served : IDisposable
{
    public const string Password = "a horse in the rain";
    private readonly PageHost _host;
    private readonly HttpClientHandler _handler = new() { CookieContainer = new CookieContainer(), AllowAutoRedirect = false };

    public Served(Bench bench, PageCapture? capture = null, bool ask = false, Action<RouteGroupBuilder>? more = null, string? webRoot = null)
    {
        Directory.CreateDirectory(bench.Library);
        Settings = new PageSettings
        {
            Listen = [new IPEndPoint(IPAddress.Loopback, 0)],
            IsOnNetwork = false,
            Ask = ask,
            Library = bench.Library,
            WebRoot = webRoot ?? Path.Combine(bench.Program, "wwwroot"),
            PasswordFile = Path.Combine(bench.Library, PageSettings.PasswordFileName),
        };
        if (ask) PagePassword.Write(Settings.PasswordFile, Password);
        _host = PageHost.Start(Settings, capture, TimeProvider.System, NullLoggerFactory.Instance, more);
        Address = new Uri(_host.Listening.WaitAsync(TimeSpan.FromSeconds(60), TimeProvider.System).GetAwaiter().GetResult().Single());
        Client = new HttpClient(_handler) { BaseAddress = Address, Timeout = TimeSpan.FromSeconds(120) };
    }

    public PageSettings Settings { get; }

    public Uri Address { get; }

    public HttpClient Client { get; }

    public string Token { get; private set; } = "";

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    public async Task<JsonElement> Json(string path)
    {
        using HttpResponseMessage answer = await Client.GetAsync(new Uri(path, UriKind.Relative), Stop);
        string text = await answer.Content.ReadAsStringAsync(Stop);
        Assert.True(answer.IsSuccessStatusCode, $"{path}: {(int)answer.StatusCode} {text}");
        return JsonDocument.Parse(text).RootElement;
    }

    public async Task<HttpResponseMessage> Send(HttpMethod method, string path, string? body = "{}", bool token = true, params (string Name, string Value)[] headers)
    {
        if (token && Token.Length == 0) Token = (await Json("/api/session")).GetProperty("token").GetString()!;
        using var request = new HttpRequestMessage(method, new Uri(path, UriKind.Relative));
        if (body is not null) request.Content = new StringContent(body, Encoding.UTF8, "application/json");
        if (token) request.Headers.Add(PageSessions.TokenHeader, Token);
        foreach ((string name, string value) in headers) request.Headers.TryAddWithoutValidation(name, value);
        return await Client.SendAsync(request, HttpCompletionOption.ResponseHeadersRead, Stop);
    }

    public async Task<HttpStatusCode> SignIn(string password)
    {
        using HttpResponseMessage answer = await Send(HttpMethod.Post, "/api/session", JsonSerializer.Serialize(new { password }));
        if (answer.IsSuccessStatusCode) Token = JsonDocument.Parse(await answer.Content.ReadAsStringAsync(Stop)).RootElement.GetProperty("token").GetString()!;
        return answer.StatusCode;
    }

    /// <summary>Awaits what must come true within some seconds.</summary>
    public static async Task Until(Func<Task<bool>> holds, string what, int seconds = 30)
    {
        for (int i = 0; i < seconds * 20; i++)
        {
            if (await holds()) return;
            await Task.Delay(TimeSpan.FromMilliseconds(50), TimeProvider.System, Stop);
        }

        Assert.Fail($"Not within {seconds} s: {what}");
    }

    public static PageCapture Capture(Func<LiveState> live, CaptureOptions? options = null, Func<PlanView?>? plan = null) => new(
        live, () => new CaptureStatus { Running = true, Well = true, Problems = [], Library = "" }, new CaptureOrders(), plan ?? (() => null), _ => { }, options ?? new CaptureOptions(), TimeProvider.System);

    public void Dispose()
    {
        Client.Dispose();
        _handler.Dispose();
        _host.Dispose();
    }
}
