using Microsoft.Extensions.Hosting;

namespace Acquire.Service.Capture;

/// <summary>Runs a capture on a thread of its own beside its display, and ends the host when the capture has ended. When the host is told
/// to stop, the capture is told, and waited for until its run is saved.</summary>
/// <param name="capture">The capture; blocks until it has ended.</param>
/// <param name="show">The display; ends when told to.</param>
/// <param name="lifetime">The host.</param>
internal sealed class CaptureWorker(
    Func<CancellationToken, CaptureOutcome> capture, Func<CancellationToken, Task> show, IHostApplicationLifetime lifetime) : BackgroundService
{
    /// <summary>What came of the capture; null while it runs and where it failed with <see cref="Fault"/>.</summary>
    public CaptureOutcome? Outcome { get; private set; }

    /// <summary>What the capture threw, or null.</summary>
    public Exception? Fault { get; private set; }

    /// <summary>True where the user ended the capture before it ended by itself.</summary>
    public bool EndedByUser { get; private set; }

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var over = new CancellationTokenSource();
        Task shown = Task.Run(() => show(over.Token), CancellationToken.None);
        await OnOwnThread(stoppingToken);
        await over.CancelAsync();
        await shown;
        lifetime.StopApplication();
    }

    private Task OnOwnThread(CancellationToken stop)
    {
        var ended = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        var thread = new Thread(() =>
        {
            try
            {
                Outcome = capture(stop);
            }
            catch (Exception e)
            {
                Fault = e;
            }

            EndedByUser = stop.IsCancellationRequested;
            ended.SetResult();
        })
        {
            Name = "capture",
        };
        thread.Start();
        return ended.Task;
    }
}
