using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using System.Net.WebSockets;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace Acquire.Browser.Tests;

/// <summary>A window of a browser as a person has it, with its tabs: those behind are out of sight. The driver of the other tests takes every page for one in
/// sight, so this one is spoken to by the Chrome DevTools Protocol (its published description, domain Runtime), and its screen is Xvfb's.</summary>
internal sealed class TabWindow : IDisposable
{
    private const string Display = ":97";
    private readonly string _profile = Directory.CreateTempSubdirectory("acquire-tabs-").FullName;
    private readonly Process _screen;
    private readonly Process _browser;
    private readonly HttpClient _http;

    private TabWindow(int port)
    {
        _screen = Process.Start("Xvfb", [Display, "-screen", "0", "1280x1000x24"]);
        var start = new ProcessStartInfo("/usr/bin/chromium", [.. BenchService.Switches, $"--remote-debugging-port={port}", $"--user-data-dir={_profile}", "--window-size=1280,900", "about:blank"]);
        start.Environment["DISPLAY"] = Display;
        (start.RedirectStandardError, start.RedirectStandardOutput) = (true, true);
        _browser = Process.Start(start)!;
        _browser.BeginErrorReadLine();
        _browser.BeginOutputReadLine();
        _http = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{port}") };
    }

    /// <summary>Opens an empty one.</summary>
    public static async Task<TabWindow> Open()
    {
        using var probe = new TcpListener(IPAddress.Loopback, 0);
        probe.Start();
        int port = ((IPEndPoint)probe.LocalEndpoint).Port;
        probe.Stop();
        var window = new TabWindow(port);
        for (int i = 0; ; i++)
        {
            try
            {
                await window._http.GetStringAsync(new Uri("/json/version", UriKind.Relative));
                return window;
            }
            catch (HttpRequestException) when (i < 300)
            {
                await Task.Delay(TimeSpan.FromMilliseconds(100), TimeProvider.System);
            }
        }
    }

    /// <summary>Opens a tab.</summary>
    /// <returns>Where it is spoken to.</returns>
    public async Task<Uri> Tab(string address)
    {
        using HttpResponseMessage answer = await _http.PutAsync(new Uri("/json/new?" + address, UriKind.Relative), null);
        return new Uri(JsonNode.Parse(await answer.Content.ReadAsStringAsync())!["webSocketDebuggerUrl"]!.GetValue<string>());
    }

    /// <summary>The value of an expression in a tab; a promise is waited for.</summary>
    public static async Task<JsonElement> Value(Uri tab, string expression, CancellationToken cancel)
    {
        using var socket = new ClientWebSocket();
        await socket.ConnectAsync(tab, cancel);
        string call = JsonSerializer.Serialize(new { id = 1, method = "Runtime.evaluate", @params = new { expression, awaitPromise = true, returnByValue = true } });
        await socket.SendAsync(Encoding.UTF8.GetBytes(call), WebSocketMessageType.Text, true, cancel);
        using var said = new MemoryStream();
        byte[] part = new byte[65_536];
        WebSocketReceiveResult got;
        do
        {
            got = await socket.ReceiveAsync(part, cancel);
            said.Write(part, 0, got.Count);
        }
        while (!got.EndOfMessage);
        JsonElement result = JsonDocument.Parse(said.ToArray()).RootElement.GetProperty("result");
        if (result.TryGetProperty("exceptionDetails", out JsonElement fault)) throw new InvalidOperationException(fault.GetRawText());
        return result.GetProperty("result").TryGetProperty("value", out JsonElement value) ? value : default;
    }

    public void Dispose()
    {
        _http.Dispose();
        foreach (Process one in new[] { _browser, _screen })
        {
            if (!one.HasExited) one.Kill(entireProcessTree: true);
            one.WaitForExit();
            one.Dispose();
        }

        Directory.Delete(_profile, recursive: true);
    }
}
