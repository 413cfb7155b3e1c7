using System.Collections.Concurrent;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Capture;

/// <summary>Has pages made of finished runs, one after the other, beside the capture. A run comes here once it is safe and its journal says so; whatever
/// becomes of the page, run and capture have no part in it.</summary>
internal sealed class ReportingThread : IDisposable
{
    private const int AtEndMs = 30_000;
    private const int Tries = 2; // Ctrl-C on a terminal ends a process that is under way

    private readonly BlockingCollection<string> _runs = [];
    private readonly CancellationTokenSource _enough = new();
    private readonly Action<string, CancellationToken> _write;
    private readonly ILogger _logger;
    private readonly Thread _thread;

    /// <summary>Begins.</summary>
    /// <param name="write">Makes the page of a run's folder; may throw, may be slow, is to end soon once told to.</param>
    /// <param name="logger">Where it is said that one could not be made.</param>
    public ReportingThread(Action<string, CancellationToken> write, ILogger logger)
    {
        _write = write;
        _logger = logger;
        _thread = new Thread(Work) { IsBackground = true, Name = "reporting", Priority = ThreadPriority.BelowNormal };
        _thread.Start();
    }

    /// <summary>Takes a run; after <see cref="Finish"/> it has no effect.</summary>
    public void Add(string folder)
    {
        try
        {
            _runs.Add(folder);
        }
        catch (InvalidOperationException)
        {
            // The capture has ended meanwhile; the page can be made later.
        }
    }

    /// <summary>Waits for the pages that are not made yet, but not for long.</summary>
    /// <param name="longestMs">How long, ms.</param>
    public void Finish(int longestMs = AtEndMs)
    {
        _runs.CompleteAdding();
        if (_thread.Join(longestMs))
            return;
        _enough.Cancel();
        if (!_thread.Join(longestMs / 10))
            _logger.LogWarning("A page of a run is still being made; it is left to itself.");
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        Finish();
        if (_thread.IsAlive)
            return;
        _runs.Dispose();
        _enough.Dispose();
    }

    private void Work()
    {
        foreach (string folder in _runs.GetConsumingEnumerable())
        {
            for (int left = Tries - 1; !Write(folder, left); left--)
            {
                if (left == 0)
                    break;
            }
        }
    }

    private bool Write(string folder, int left)
    {
        try
        {
            _enough.Token.ThrowIfCancellationRequested();
            _write(folder, _enough.Token);
            return true;
        }
        catch (Exception e)
        {
            // Whatever went wrong here, the run is safe.
            if (left == 0)
                _logger.LogWarning("{Run}: its page could not be made ({Problem}); the run is whole without it, and acquire show RUN --report makes it.", Path.GetFileName(folder), e.Message);
            return false;
        }
    }
}
