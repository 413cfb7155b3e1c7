using Acquire.Acquisition;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging;
using Spectre.Console;
using Spectre.Console.Rendering;

namespace Acquire.Service.Display;

/// <summary>Draws the live state on a terminal four times a second. It only reads; a fault here never reaches the capture.</summary>
/// <param name="console">The terminal.</param>
/// <param name="view">The layout.</param>
/// <param name="logger">Where a fault is said, once.</param>
internal sealed class LiveScreen(IAnsiConsole console, LiveView view, ILogger logger)
{
    /// <summary>Every so often it draws, seconds.</summary>
    internal const double IntervalS = 0.25;

    private static readonly TimeSpan Interval = TimeSpan.FromSeconds(IntervalS);
    private (int Columns, int Rows) _size;
    private bool _faulted;

    /// <summary>Draws until told to end, and once more then.</summary>
    /// <param name="live">Gives the state.</param>
    /// <param name="sourceTime">The clock that the state's times are of.</param>
    /// <param name="time">The clock on the wall.</param>
    /// <param name="end">Ends the display.</param>
    public async Task RunAsync(Func<LiveState> live, TimeProvider sourceTime, TimeProvider time, CancellationToken end)
    {
        try
        {
            _size = Size();
            await console.Live(Picture(live(), sourceTime)).Overflow(VerticalOverflow.Crop).Cropping(VerticalOverflowCropping.Bottom)
                .StartAsync(async display =>
                {
                    using var timer = new PeriodicTimer(Interval, time);
                    while (await NextAsync(timer, end)) Draw(display, live, sourceTime);
                    Draw(display, live, sourceTime);
                });
        }
        catch (Exception e)
        {
            Say(e);
        }
    }

    private static async Task<bool> NextAsync(PeriodicTimer timer, CancellationToken end)
    {
        try
        {
            return await timer.WaitForNextTickAsync(end);
        }
        catch (OperationCanceledException)
        {
            return false;
        }
    }

    private void Draw(LiveDisplayContext display, Func<LiveState> live, TimeProvider sourceTime)
    {
        try
        {
            (int Columns, int Rows) size = Size();

            // A terminal that was resized has broken the old lines anew: where the cursor stands is no longer known.
            if (size != _size) console.Clear(home: true);
            _size = size;
            display.UpdateTarget(Picture(live(), sourceTime));
        }
        catch (Exception e)
        {
            Say(e);
        }
    }

    private IRenderable Picture(LiveState state, TimeProvider sourceTime)
    {
        double heardAgoS = state.LastHeardNs == 0 ? double.NaN : (sourceTime.MonotonicNs() - state.LastHeardNs) / 1e9;
        return view.Render(state, _size.Columns, console.Profile.Capabilities.Unicode, heardAgoS);
    }

    private (int Columns, int Rows) Size() => (console.Profile.Width, console.Profile.Height);

    private void Say(Exception e)
    {
        if (_faulted) return;
        _faulted = true;
        logger.LogWarning(e, "The display failed; the capture goes on without it");
    }
}
