using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Page;

/// <summary>The page beside a capture, or on its own, with a lifetime of its own: it begins after the capture, ends before it, and whatever fails in it is said and tried
/// again while the capture goes on.</summary>
internal sealed class PageHost : IDisposable
{
    private static readonly TimeSpan Again = TimeSpan.FromSeconds(15); // an address may come up later than the computer
    private static readonly TimeSpan Goodbye = TimeSpan.FromSeconds(5);
    private readonly PageSettings _settings;
    private readonly PageCapture? _capture;
    private readonly TimeProvider _time;
    private readonly ILoggerFactory _loggers;
    private readonly ILogger _logger;
    private readonly Action<RouteGroupBuilder>? _more;
    private readonly CancellationTokenSource _stop = new();
    private readonly TaskCompletionSource<IReadOnlyList<string>> _listening = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private readonly Task _work;

    private PageHost(PageSettings settings, PageCapture? capture, TimeProvider time, ILoggerFactory loggers, Action<RouteGroupBuilder>? more)
    {
        (_settings, _capture, _time, _loggers, _more) = (settings, capture, time, loggers, more);
        _logger = loggers.CreateLogger("Acquire.Page");
        _work = Task.Run(Work);
    }

    /// <summary>Begins to serve; never throws and never waits for the page.</summary>
    /// <param name="settings">The settings.</param>
    /// <param name="capture">The capture beside it; null for none.</param>
    /// <param name="time">The time.</param>
    /// <param name="loggers">The log.</param>
    /// <param name="more">Adds endpoints; for tests.</param>
    public static PageHost Start(PageSettings settings, PageCapture? capture, TimeProvider time, ILoggerFactory loggers, Action<RouteGroupBuilder>? more = null) => new(settings, capture, time, loggers, more);

    /// <summary>Ends with the addresses once it listens; fails where it cannot at first, though it is tried again.</summary>
    public Task<IReadOnlyList<string>> Listening => _listening.Task;

    /// <summary>Ends it; waits for a few seconds at the most.</summary>
    public void Dispose()
    {
        _stop.Cancel();
        _work.Wait(Goodbye); // a page that hangs keeps nobody from ending
        if (_work.IsCompleted) _stop.Dispose();
    }

    private async Task Work()
    {
        string? said = null;
        PageState? state = null;
        while (!_stop.IsCancellationRequested)
        {
            try
            {
                state ??= new PageState(_settings, _capture, _time, _loggers, _stop.Token);
                await Serve(state);
            }
            catch (Exception e)
            {
                _listening.TrySetException(e);
                if (e.Message != said) _logger.LogWarning("The page is not served ({Problem}); it is tried again each {Seconds} s{Beside}", e.Message, Again.TotalSeconds, _capture is null ? "" : ", and the capture goes on");
                _logger.LogDebug(e, "The page failed");
                said = e.Message;
            }

            await Task.WhenAny(Task.Delay(Again, _time, _stop.Token));
        }

        state?.Dispose();
    }

    private async Task Serve(PageState state)
    {
        await using WebApplication app = PageServer.Build(state, _time, _loggers, _more);
        await app.StartAsync(_stop.Token);
        try
        {
            string[] urls = [.. app.Urls];
            _logger.LogInformation("The page is at {Addresses}{Password}", string.Join(" and ", urls), _settings.NeedsPassword ? ", with a password" : "");
            _listening.TrySetResult(urls);
            await Task.WhenAny(Task.Delay(Timeout.InfiniteTimeSpan, _time, _stop.Token));
        }
        finally
        {
            using var limit = new CancellationTokenSource(Goodbye, _time);
            await app.StopAsync(limit.Token);
        }
    }
}
