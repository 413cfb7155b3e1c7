using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.Json;
using Microsoft.AspNetCore.ResponseCompression;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.StaticFiles;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.FileProviders;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;
using HttpResults = Microsoft.AspNetCore.Http.Results;

namespace Acquire.Service.Page;

/// <summary>Puts the page's server together: bounds, guards, endpoints, files. Nothing here knows more of the capture than <see cref="PageCapture"/>.</summary>
internal static class PageServer
{
    private static readonly TimeSpan Goodbye = TimeSpan.FromSeconds(3);
    private static readonly string[] Pages = ["/", "/bench", "/library", "/compare", "/sweep", "/sign-in"];

    /// <summary>Makes a server that does not listen yet.</summary>
    /// <param name="state">What it serves.</param>
    /// <param name="time">The time.</param>
    /// <param name="loggers">The log.</param>
    /// <param name="more">Adds endpoints; for tests.</param>
    public static WebApplication Build(PageState state, TimeProvider time, ILoggerFactory loggers, Action<RouteGroupBuilder>? more = null)
    {
        PageSettings settings = state.Settings;
        WebApplicationBuilder builder = WebApplication.CreateEmptyBuilder(new WebApplicationOptions { ApplicationName = "acquire", ContentRootPath = AppContext.BaseDirectory });
        builder.Services.AddSingleton(loggers);
        builder.Services.AddSingleton(time);
        builder.Services.AddSingleton<IHostLifetime, NoSignals>();
        builder.WebHost.UseKestrelCore().UseKestrelHttpsConfiguration().ConfigureKestrel(options =>
        {
            PageLimits.Bound(options);
            if (settings.Kestrel is { } kestrel) options.Configure(kestrel);
            foreach (System.Net.IPEndPoint at in settings.Listen) options.Listen(at);
        });
        builder.Services.Configure<HostOptions>(o => o.ShutdownTimeout = Goodbye);
        builder.Services.Configure<JsonOptions>(o => PageJson.Put(o.SerializerOptions));
        builder.Services.Configure<RouteHandlerOptions>(o => o.ThrowOnBadRequest = true); // to be said by PageFaults
        builder.Services.AddRouting();
        builder.Services.AddProblemDetails();
        builder.Services.AddOpenApi(o => o.AddDocumentTransformer((document, _, _) =>
        {
            document.Info.Title = "Acquire";
            document.Info.Version = ProgramVersion.Software;
            document.Info.Description = "What the bench page shows, for scripts. Units are in the names; what is not known is null. Changes need the header " + PageSessions.TokenHeader + " with the token of GET /api/session.";
            return Task.CompletedTask;
        }));
        builder.Services.AddResponseCompression(o =>
        {
            o.Providers.Add<BrotliCompressionProvider>();
            o.Providers.Add<GzipCompressionProvider>();
            o.MimeTypes = [.. ResponseCompressionDefaults.MimeTypes, "application/problem+json", "image/svg+xml", "application/manifest+json"];
        });
        PageSessions.Add(builder.Services, settings);
        PageLimits.Add(builder.Services);
        WebApplication app = builder.Build();
        Guard(app, settings);
        Serve(app, state, more);
        return app;
    }

    private static void Guard(WebApplication app, PageSettings settings)
    {
        app.Use(PageGuard.Headers);
        app.UseExceptionHandler(new ExceptionHandlerOptions
        {
            ExceptionHandler = PageFaults.Answer,
            SuppressDiagnosticsCallback = context => context.Exception is BadHttpRequestException, // whoever calls wrongly fills no log
        });
        app.UseStatusCodePages();
        app.Use(PageGuard.Host(settings));
        app.UseResponseCompression();
        app.Use(PageGuard.Sites);
        app.UseRouting();
        app.UseRateLimiter();
        app.UseAuthentication();
        app.Use(PageSessions.SignedIn(settings));
        app.Use(PageSessions.Token);
    }

    private static void Serve(WebApplication app, PageState state, Action<RouteGroupBuilder>? more)
    {
        RouteGroupBuilder api = app.MapGroup(PageGuard.Api.Value!);
        PageSessions.Map(api, state.Settings, PageLimits.SignIn);
        LiveEndpoints.Map(api, state);
        RunEndpoints.Map(api, state);
        ResultEndpoints.Map(api, state);
        api.MapGet("/about", () => About(state, app.Urls)).WithSummary("What this is.");
        more?.Invoke(api);
        app.MapOpenApi("/api/openapi.json");
        Files(app, state.Settings.WebRoot);
    }

    private static AboutDocument About(PageState state, ICollection<string> urls) => new(
        ProgramVersion.Software, state.Settings.Library, [.. urls],
        state.Capture is { } capture ? new AboutCapture(capture.Live().Source, capture.Options.Marks, capture.Options.Format, capture.Options.TimeScale) : null);

    private static void Files(WebApplication app, string root)
    {
        string index = Path.Combine(root, "index.html");
        IResult Page(HttpContext context)
        {
            context.Response.Headers.CacheControl = "no-cache";
            return File.Exists(index)
                ? HttpResults.File(index, "text/html; charset=utf-8", lastModified: File.GetLastWriteTimeUtc(index))
                : HttpResults.Text("The page's files are not beside the program; the interface for scripts is: /api/openapi.json\n");
        }

        foreach (string page in Pages) app.MapGet(page, Page).ExcludeFromDescription();
        app.MapGet("/runs/{run}", Page).ExcludeFromDescription();
        if (!Directory.Exists(root)) return;
        app.UseStaticFiles(new StaticFileOptions
        {
            FileProvider = new PhysicalFileProvider(root),
            ContentTypeProvider = new FileExtensionContentTypeProvider(),
            OnPrepareResponse = context =>
            {
                bool named = context.Context.Request.Path.StartsWithSegments("/vendor") && context.Context.Request.Query.ContainsKey("v");
                context.Context.Response.Headers.CacheControl = named ? "public, max-age=31536000, immutable" : "no-cache";
            },
        });
    }

    // Signals are the capture's host's.
    private sealed class NoSignals : IHostLifetime
    {
        public Task WaitForStartAsync(CancellationToken cancellationToken) => Task.CompletedTask;

        public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;
    }
}
