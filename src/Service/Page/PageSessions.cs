using System.Security.Claims;
using System.Security.Cryptography;
using System.Xml.Linq;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.DataProtection.KeyManagement;
using Microsoft.AspNetCore.DataProtection.Repositories;
using Microsoft.AspNetCore.DataProtection.XmlEncryption;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using HttpResults = Microsoft.AspNetCore.Http.Results;

namespace Acquire.Service.Page;

/// <summary>Who may see the page and change things. Where a password is asked for, everything but signing in needs a session; every change needs the token of the
/// session besides, whoever asks. Sessions end with the program, and with the password they began with.</summary>
internal static class PageSessions
{
    /// <summary>The header that carries the token.</summary>
    public const string TokenHeader = "X-Acquire-Token";

    private const string Scheme = "acquire";
    private const string StampClaim = "stamp";
    private static readonly TimeSpan Lasts = TimeSpan.FromDays(14);

    /// <summary>Adds what it needs.</summary>
    public static void Add(IServiceCollection services, PageSettings settings)
    {
        services.AddDataProtection();
        services.Configure<KeyManagementOptions>(o => (o.XmlRepository, o.XmlEncryptor) = (new NoFile(), new NullXmlEncryptor()));
        services.AddAntiforgery(o =>
        {
            o.HeaderName = TokenHeader;
            o.SuppressXFrameOptionsHeader = true;
            Strict(o.Cookie, "acquire-token");
        });
        services.AddAuthentication(Scheme).AddCookie(Scheme, o =>
        {
            Strict(o.Cookie, "acquire-session");
            o.ExpireTimeSpan = Lasts;
            o.Events = new CookieAuthenticationEvents
            {
                OnRedirectToLogin = context => Status(context.HttpContext, StatusCodes.Status401Unauthorized),
                OnRedirectToAccessDenied = context => Status(context.HttpContext, StatusCodes.Status403Forbidden),
                OnValidatePrincipal = context =>
                {
                    if (PagePassword.Read(settings.PasswordFile, out _)?.Stamp != context.Principal?.FindFirstValue(StampClaim)) context.RejectPrincipal();
                    return Task.CompletedTask;
                },
            };
        });
    }

    /// <summary>Lets through who is signed in, where that is asked for.</summary>
    public static Func<HttpContext, RequestDelegate, Task> SignedIn(PageSettings settings) => (context, next) =>
        IsOpen(context.Request) || !context.Request.Path.StartsWithSegments(PageGuard.Api) || IsSignedIn(context, settings) ? next(context)
            : PageGuard.Refuse(context, StatusCodes.Status401Unauthorized, "Please sign in.");

    /// <summary>Lets changes through that carry the token.</summary>
    public static async Task Token(HttpContext context, RequestDelegate next)
    {
        HttpRequest request = context.Request;
        bool changes = !HttpMethods.IsGet(request.Method) && !HttpMethods.IsHead(request.Method);
        if (changes && (request.Headers[TokenHeader].Count != 1 || !await context.RequestServices.GetRequiredService<IAntiforgery>().IsRequestValidAsync(context)))
            await PageGuard.Refuse(context, StatusCodes.Status400BadRequest, "The token is missing or old.");
        else
            await next(context);
    }

    /// <summary>Adds the endpoints.</summary>
    /// <param name="api">The interface.</param>
    /// <param name="settings">The settings.</param>
    /// <param name="signInLimit">The name of the limit on tries.</param>
    public static void Map(RouteGroupBuilder api, PageSettings settings, string signInLimit)
    {
        var trying = new SemaphoreSlim(1); // a hash takes a good part of a second of a small computer's processor
        api.MapGet("/session", (HttpContext context, IAntiforgery forgery) => Document(context, settings, forgery)).WithSummary("Whether one is signed in, and the token that changes need.");
        api.MapPost("/session", (SignIn sign, HttpContext context, IAntiforgery forgery) => Try(sign, context, settings, forgery, trying))
            .Produces<SessionDocument>().ProducesProblem(401).ProducesProblem(429).WithSummary("Signs in.").RequireRateLimiting(signInLimit);
        api.MapDelete("/session", async (HttpContext context) =>
        {
            await context.SignOutAsync(Scheme);
            return HttpResults.NoContent();
        }).Produces(204).WithSummary("Signs out.");
    }

    private static async Task<IResult> Try(SignIn sign, HttpContext context, PageSettings settings, IAntiforgery forgery, SemaphoreSlim trying)
    {
        if (!settings.NeedsPassword) return HttpResults.Ok(Document(context, settings, forgery));
        if (PagePassword.Read(settings.PasswordFile, out string? problem) is not { } kept) return PageAnswers.Problem(StatusCodes.Status401Unauthorized, problem!, []);
        await trying.WaitAsync(context.RequestAborted);
        bool right;
        try
        {
            right = await Task.Run(() => kept.Is(sign.Password ?? ""), CancellationToken.None);
        }
        finally
        {
            trying.Release();
        }

        if (!right) return PageAnswers.Problem(StatusCodes.Status401Unauthorized, "That is not the password.", []);
        Claim[] claims = [new(ClaimTypes.NameIdentifier, Convert.ToHexString(RandomNumberGenerator.GetBytes(16))), new(StampClaim, kept.Stamp)];
        var principal = new ClaimsPrincipal(new ClaimsIdentity(claims, Scheme));
        await context.SignInAsync(Scheme, principal, new AuthenticationProperties { IsPersistent = true });
        context.User = principal; // the token that follows is this session's
        return HttpResults.Ok(Document(context, settings, forgery));
    }

    private static SessionDocument Document(HttpContext context, PageSettings settings, IAntiforgery forgery)
    {
        string token = forgery.GetAndStoreTokens(context).RequestToken ?? "";
        return new SessionDocument(IsSignedIn(context, settings), settings.NeedsPassword, token, ProgramVersion.Software);
    }

    private static bool IsSignedIn(HttpContext context, PageSettings settings) => !settings.NeedsPassword || context.User.Identity?.IsAuthenticated == true;

    private static bool IsOpen(HttpRequest request) =>
        (request.Path.Equals("/api/session", StringComparison.OrdinalIgnoreCase) && !HttpMethods.IsDelete(request.Method))
        || request.Path.Equals("/api/openapi.json", StringComparison.OrdinalIgnoreCase);

    private static void Strict(CookieBuilder cookie, string name)
    {
        cookie.Name = name;
        cookie.HttpOnly = true;
        cookie.SameSite = SameSiteMode.Strict;
        cookie.SecurePolicy = CookieSecurePolicy.SameAsRequest;
        cookie.IsEssential = true;
        cookie.Path = "/";
    }

    private static Task Status(HttpContext context, int status)
    {
        context.Response.StatusCode = status;
        return Task.CompletedTask;
    }

    // Keys of sessions are in memory only: nothing that is left on a disk signs anybody in.
    private sealed class NoFile : IXmlRepository
    {
        private readonly List<XElement> _keys = [];

        public IReadOnlyCollection<XElement> GetAllElements()
        {
            lock (_keys) return [.. _keys];
        }

        public void StoreElement(XElement element, string friendlyName)
        {
            lock (_keys) _keys.Add(element);
        }
    }
}
