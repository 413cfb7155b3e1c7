using System.Globalization;
using System.Net;
using System.Threading.RateLimiting;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.RateLimiting;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using Microsoft.Extensions.DependencyInjection;

namespace Acquire.Service.Page;

/// <summary>How much anybody may ask for. The bounds are wide for people and for scripts, and narrow enough that whoever goes beyond them keeps the page busy, not the computer.</summary>
internal static class PageLimits
{
    /// <summary>The limit on tries to sign in.</summary>
    public const string SignIn = "sign-in";

    /// <summary>Tries to sign in a minute from one address.</summary>
    public const int TriesOfOne = 5;

    /// <summary>Tries to sign in a minute from all addresses together.</summary>
    public const int TriesOfAll = 30;

    /// <summary>Largest body of a request.</summary>
    public const long BodyBytes = 64 << 10;

    private const int RequestsOfOne = 1000; // in the window
    private const int WindowS = 10;
    private static readonly TimeSpan Minute = TimeSpan.FromMinutes(1);

    /// <summary>The server's bounds.</summary>
    public static void Bound(KestrelServerOptions options)
    {
        options.AddServerHeader = false;
        KestrelServerLimits limits = options.Limits;
        limits.MaxConcurrentConnections = 256;
        limits.MaxConcurrentUpgradedConnections = 0;
        limits.MaxRequestBodySize = BodyBytes;
        limits.MaxRequestBufferSize = 128 << 10;
        limits.MaxResponseBufferSize = 64 << 10;
        limits.MaxRequestLineSize = 8 << 10;
        limits.MaxRequestHeadersTotalSize = 16 << 10;
        limits.MaxRequestHeaderCount = 64;
        limits.RequestHeadersTimeout = TimeSpan.FromSeconds(10);
        limits.KeepAliveTimeout = TimeSpan.FromSeconds(60);
        limits.MinRequestBodyDataRate = new MinDataRate(240, TimeSpan.FromSeconds(5));
        limits.MinResponseDataRate = new MinDataRate(240, TimeSpan.FromSeconds(5)); // a page that takes nothing is let go of
        limits.Http2.MaxStreamsPerConnection = 32;
    }

    /// <summary>Limits on how often.</summary>
    public static void Add(IServiceCollection services) => services.AddRateLimiter(o =>
    {
        o.RejectionStatusCode = StatusCodes.Status429TooManyRequests;
        o.OnRejected = (context, _) =>
        {
            double waitS = context.Lease.TryGetMetadata(MetadataName.RetryAfter, out TimeSpan wait) ? Math.Ceiling(wait.TotalSeconds) : WindowS;
            context.HttpContext.Response.Headers.RetryAfter = waitS.ToString(CultureInfo.InvariantCulture);
            return new ValueTask(PageGuard.Refuse(context.HttpContext, StatusCodes.Status429TooManyRequests, string.Create(CultureInfo.InvariantCulture, $"Too many requests; try again in {waitS:0} s.")));
        };
        o.GlobalLimiter = PartitionedRateLimiter.Create<HttpContext, string>(context => RateLimitPartition.GetFixedWindowLimiter(
            Address(context), _ => Window(RequestsOfOne, TimeSpan.FromSeconds(WindowS))));
        o.AddPolicy(SignIn, new Tries(new FixedWindowRateLimiter(Window(TriesOfAll, Minute))));
    });

    private static FixedWindowRateLimiterOptions Window(int permits, TimeSpan window) => new() { PermitLimit = permits, Window = window, QueueLimit = 0 };

    // Of an IPv6 address the network counts: whoever has one has all addresses of it.
    private static string Address(HttpContext context)
    {
        IPAddress? address = context.Connection.RemoteIpAddress;
        if (address is null) return "";
        if (address.IsIPv4MappedToIPv6) return address.MapToIPv4().ToString();
        return address.AddressFamily == System.Net.Sockets.AddressFamily.InterNetworkV6 ? Convert.ToHexString(address.GetAddressBytes().AsSpan(0, 8)) : address.ToString();
    }

    // Both of one address and of all together.
    private sealed class Tries(FixedWindowRateLimiter all) : IRateLimiterPolicy<string>
    {

        public Func<OnRejectedContext, CancellationToken, ValueTask>? OnRejected => null;

        public RateLimitPartition<string> GetPartition(HttpContext httpContext) => RateLimitPartition.Get(
            Address(httpContext), _ => (RateLimiter)new Chained(new FixedWindowRateLimiter(Window(TriesOfOne, Minute)), all));
    }

    private sealed class Chained(FixedWindowRateLimiter one, FixedWindowRateLimiter all) : RateLimiter
    {
        public override TimeSpan? IdleDuration => one.IdleDuration;

        public override RateLimiterStatistics? GetStatistics() => one.GetStatistics();

        protected override RateLimitLease AttemptAcquireCore(int permitCount)
        {
            RateLimitLease first = one.AttemptAcquire(permitCount);
            return first.IsAcquired ? all.AttemptAcquire(permitCount) : first;
        }

        protected override ValueTask<RateLimitLease> AcquireAsyncCore(int permitCount, CancellationToken cancellationToken) => new(AttemptAcquireCore(permitCount));

        protected override void Dispose(bool disposing)
        {
            if (disposing) one.Dispose();
            base.Dispose(disposing);
        }
    }
}
