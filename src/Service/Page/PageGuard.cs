using System.Net;
using Microsoft.AspNetCore.Http;

namespace Acquire.Service.Page;

/// <summary>What holds for every answer and every request, whatever endpoint it is for.</summary>
internal static class PageGuard
{
    /// <summary>Where the page's own answers may take anything from: itself.</summary>
    public const string Policy =
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; media-src 'self' data:; manifest-src 'self'; "
        + "base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

    /// <summary>The paths below which the interface lies.</summary>
    public static readonly PathString Api = "/api";

    /// <summary>Puts the headers on that browsers go by.</summary>
    public static Task Headers(HttpContext context, RequestDelegate next)
    {
        IHeaderDictionary headers = context.Response.Headers;
        headers.ContentSecurityPolicy = Policy;
        headers.XContentTypeOptions = "nosniff";
        headers.XFrameOptions = "DENY";
        headers["Referrer-Policy"] = "no-referrer";
        headers["Cross-Origin-Opener-Policy"] = "same-origin";
        headers["Cross-Origin-Resource-Policy"] = "same-origin";
        headers["Permissions-Policy"] = "camera=(), geolocation=(), microphone=(), payment=(), usb=()";
        bool isSession = context.Request.Path.StartsWithSegments("/api/session"); // which sets it itself
        if (context.Request.Path.StartsWithSegments(Api) && !isSession) headers.CacheControl = "no-store";
        return next(context);
    }

    /// <summary>Lets a request through that names this computer by a name of its own: a page elsewhere cannot have its own name lead here and then speak as one of ours.</summary>
    public static Func<HttpContext, RequestDelegate, Task> Host(PageSettings settings) => (context, next) =>
        IsOurs(context.Request.Host.Host, settings) ? next(context)
            : Refuse(context, StatusCodes.Status403Forbidden, $"This page is not known as '{PageAnswers.Shown(context.Request.Host.Host)}'; setting Page:Hosts can name it.");

    /// <summary>Refuses what another site's page asks for. Browsers say where a request comes from; other programs do not have to.</summary>
    public static Task Sites(HttpContext context, RequestDelegate next)
    {
        HttpRequest request = context.Request;
        if (!request.Path.StartsWithSegments(Api)) return next(context);
        string site = request.Headers["Sec-Fetch-Site"].ToString();
        string origin = request.Headers.Origin.ToString();
        bool foreign = site is not ("" or "same-origin" or "none") || (origin.Length > 0 && !IsSame(origin, request.Host.Value));
        return foreign ? Refuse(context, StatusCodes.Status403Forbidden, "Another site's page may not ask for this.") : next(context);
    }

    /// <summary>Answers with what is wrong.</summary>
    public static Task Refuse(HttpContext context, int status, string title) => PageAnswers.Problem(status, title, []).ExecuteAsync(context);

    private static bool IsSame(string origin, string? host) =>
        Uri.TryCreate(origin, UriKind.Absolute, out Uri? from) && string.Equals(from.Authority, host, StringComparison.OrdinalIgnoreCase);

    private static bool IsOurs(string host, PageSettings settings)
    {
        if (settings.Hosts.Contains(host, StringComparer.OrdinalIgnoreCase)) return true;
        if (settings.IsOnNetwork && settings.Hosts.Count == 0) return host.Length > 0;
        bool isAddress = IPAddress.TryParse(host.Trim('[', ']'), out IPAddress? address);
        return host.Equals("localhost", StringComparison.OrdinalIgnoreCase) || (isAddress && (settings.IsOnNetwork || IPAddress.IsLoopback(address!)));
    }
}
