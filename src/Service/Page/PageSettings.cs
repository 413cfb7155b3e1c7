using System.Globalization;
using System.Net;
using Microsoft.Extensions.Configuration;

namespace Acquire.Service.Page;

/// <summary>Where the page is served and who may see it; section <c>Page</c> of the configuration.</summary>
internal sealed record PageSettings
{
    /// <summary>The section of the configuration.</summary>
    public const string Section = "Page";

    /// <summary>Where it listens unless told otherwise: this computer only.</summary>
    public const string UsualListen = "127.0.0.1:8735";

    /// <summary>The file in the library that holds the password's hash.</summary>
    public const string PasswordFileName = ".page-password";

    /// <summary>Addresses and ports; empty where section <c>Kestrel</c> names the endpoints.</summary>
    public required IReadOnlyList<IPEndPoint> Listen { get; init; }

    /// <summary>Section <c>Kestrel</c>: endpoints, certificates; null where there is none.</summary>
    public IConfigurationSection? Kestrel { get; init; }

    /// <summary>True where others than this computer can reach it.</summary>
    public required bool IsOnNetwork { get; init; }

    /// <summary>Ask for the password also where nobody else can reach it.</summary>
    public bool Ask { get; init; }

    /// <summary>Names under which the page may be called, beside those of this computer; any on a network where it is empty.</summary>
    public IReadOnlyList<string> Hosts { get; init; } = [];

    /// <summary>The library's folder, full.</summary>
    public required string Library { get; init; }

    /// <summary>The folder of the page's own files, full.</summary>
    public required string WebRoot { get; init; }

    /// <summary>The file of the password's hash, full.</summary>
    public required string PasswordFile { get; init; }

    /// <summary>True where a password is asked for.</summary>
    public bool NeedsPassword => IsOnNetwork || Ask;

    /// <summary>Reads them.</summary>
    /// <param name="root">All layers of settings.</param>
    /// <param name="library">The library, full.</param>
    /// <param name="surroundings">Folders.</param>
    /// <param name="problems">Receives what is wrong.</param>
    public static PageSettings Read(IConfigurationRoot root, string library, Surroundings surroundings, List<string> problems)
    {
        IConfigurationSection page = root.GetSection(Section);
        string[] known = ["Listen", "Ask", "Hosts", "PasswordFile"];
        problems.AddRange(page.GetChildren().Where(c => !known.Contains(c.Key, StringComparer.OrdinalIgnoreCase)).Select(c => $"{Section}:{c.Key}: no such setting; allowed are {string.Join(", ", known)}"));
        IConfigurationSection kestrel = root.GetSection("Kestrel");
        string[] urls = [.. kestrel.GetSection("Endpoints").GetChildren().Select(e => e["Url"] ?? "")];
        IPEndPoint[] listen = [.. Words(page["Listen"] ?? (urls.Length > 0 ? "" : UsualListen)).Select(w => EndPoint(w, problems)).OfType<IPEndPoint>()];
        if (page["Ask"] is { Length: > 0 } ask && !bool.TryParse(ask, out _)) problems.Add($"--ask: '{ask}'; allowed is true or false");
        return new PageSettings
        {
            Listen = listen,
            Kestrel = kestrel.Exists() ? kestrel : null,
            IsOnNetwork = listen.Any(e => !IPAddress.IsLoopback(e.Address)) || urls.Any(u => !IsLoopback(u)),
            Ask = bool.TryParse(page["Ask"], out bool asks) && asks,
            Hosts = [.. Words(page["Hosts"] ?? "")],
            Library = library,
            WebRoot = Path.Combine(surroundings.ProgramFolder, "wwwroot"),
            PasswordFile = page["PasswordFile"] is { Length: > 0 } file ? surroundings.FullPath(file) : Path.Combine(library, PasswordFileName),
        };
    }

    private static string[] Words(string text) => text.Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries);

    private static IPEndPoint? EndPoint(string text, List<string> problems)
    {
        string full = text.StartsWith("localhost:", StringComparison.OrdinalIgnoreCase) ? "127.0.0.1" + text["localhost".Length..] : text;
        if (int.TryParse(full, NumberStyles.None, CultureInfo.InvariantCulture, out int port) && port is >= 0 and <= 65535) return new IPEndPoint(IPAddress.Loopback, port);
        if (full.Contains(':', StringComparison.Ordinal) && !full.EndsWith(']') && IPEndPoint.TryParse(full, out IPEndPoint? found) && (found.Port > 0 || full.EndsWith(":0", StringComparison.Ordinal))) return found;
        problems.Add($"--listen: '{text}'; allowed is ADDRESS:PORT, such as {UsualListen}, 0.0.0.0:8735 for every network or [::]:8735");
        return null;
    }

    private static bool IsLoopback(string url) => Uri.TryCreate(url, UriKind.Absolute, out Uri? uri) && uri.IsLoopback;
}
