using System.Collections.Concurrent;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Capture;

/// <summary>A run that has ended and is to be made into a package.</summary>
/// <param name="Journal">The journal that holds it.</param>
/// <param name="Number">Its number in that journal.</param>
/// <param name="FirstPulse">Ordinal of its first pulse in that journal.</param>
/// <param name="LastPulse">Ordinal of its last pulse there.</param>
/// <param name="Reason">Why it ended.</param>
internal sealed record EndedRun(OpenJournal Journal, int Number, long FirstPulse, long LastPulse, string Reason);

/// <summary>What came of making a package.</summary>
/// <param name="Run">The run.</param>
/// <param name="Folder">Its folder; null where it failed.</param>
/// <param name="Fault">Why it failed; null where it did not.</param>
internal sealed record FinishedPackage(EndedRun Run, string? Folder, Exception? Fault);

/// <summary>Makes packages one after the other, beside the capture.</summary>
internal sealed class FinishingThread : IDisposable
{
    private readonly BlockingCollection<EndedRun> _ended = [];
    private readonly ConcurrentQueue<FinishedPackage> _finished = new();
    private readonly RunFinisher _finisher;
    private readonly ILogger _logger;
    private readonly Thread _thread;
    private int _pending;

    public FinishingThread(RunFinisher finisher, ILogger logger)
    {
        _finisher = finisher;
        _logger = logger;
        _thread = new Thread(Work) { IsBackground = true, Name = "finishing" };
        _thread.Start();
    }

    /// <summary>Runs that are not done yet.</summary>
    public int Pending => Volatile.Read(ref _pending);

    /// <summary>Takes a run that has ended.</summary>
    public void Add(EndedRun run)
    {
        Interlocked.Increment(ref _pending);
        _ended.Add(run);
    }

    /// <summary>Gives back one that is done.</summary>
    public bool TryTake(out FinishedPackage? done) => _finished.TryDequeue(out done);

    /// <summary>Waits until all runs are done.</summary>
    public void WaitForAll()
    {
        _ended.CompleteAdding();
        _thread.Join();
    }

    public void Dispose()
    {
        WaitForAll();
        _ended.Dispose();
    }

    private void Work()
    {
        foreach (EndedRun run in _ended.GetConsumingEnumerable())
        {
            try
            {
                run.Journal.Writer.Flush();
                string folder = _finisher.Finish(run.Journal.Writer.Path, run.FirstPulse, run.LastPulse, run.Reason);
                _finished.Enqueue(new FinishedPackage(run, folder, null));
            }
            catch (Exception e)
            {
                // Whatever went wrong here, the capture goes on and the journal stays.
                _logger.LogError(e, "The run could not be made into a package; its journal is kept: {Journal}", run.Journal.Writer.Path);
                _finished.Enqueue(new FinishedPackage(run, null, e));
            }
            finally
            {
                Interlocked.Decrement(ref _pending);
            }
        }
    }
}
