using System.Collections.Concurrent;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Capture;

/// <summary>A run that has ended and is to be made into a package.</summary>
/// <param name="Journal">The journal that holds it.</param>
/// <param name="Number">Its number in that journal.</param>
/// <param name="FirstPulse">Ordinal of its first pulse in that journal.</param>
/// <param name="LastPulse">Ordinal of its last pulse there.</param>
/// <param name="Reason">Why it ended.</param>
/// <param name="MayBeSaved">True where a capture that was cut short may have saved it already.</param>
internal sealed record EndedRun(OpenJournal Journal, int Number, long FirstPulse, long LastPulse, string Reason, bool MayBeSaved = false);

/// <summary>What came of making a package.</summary>
/// <param name="Run">The run.</param>
/// <param name="Folder">Its folder; null where it failed.</param>
/// <param name="Fault">Why it failed; null where it did not.</param>
internal sealed record FinishedPackage(EndedRun Run, string? Folder, Exception? Fault);

/// <summary>Makes packages one after the other, beside the capture.</summary>
internal sealed class FinishingThread : IDisposable
{
    private const int FirstRetryMs = 1000;
    private const int LongestRetryMs = 30_000;
    private const int LastTries = 3; // of some seconds each, once the capture is ended
    private readonly BlockingCollection<EndedRun> _ended = [];
    private readonly ConcurrentQueue<FinishedPackage> _finished = new();
    private readonly Func<UnsavedRun, string> _finish;
    private readonly ILogger _logger;
    private readonly Thread _thread;
    private readonly ManualResetEventSlim _ending = new();
    private string? _trouble;
    private int _pending;

    /// <summary>Begins.</summary>
    /// <param name="finish">Makes the package of a run and gives its folder; an <see cref="IOException"/> or
    /// <see cref="UnauthorizedAccessException"/> of it is the disk's, and it is tried again.</param>
    /// <param name="logger">Where it is said that one could not be made.</param>
    public FinishingThread(Func<UnsavedRun, string> finish, ILogger logger)
    {
        _finish = finish;
        _logger = logger;
        _thread = new Thread(Work) { IsBackground = true, Name = "finishing" };
        _thread.Start();
    }

    /// <summary>Runs that are not done yet.</summary>
    public int Pending => Volatile.Read(ref _pending);

    /// <summary>What a run waits for, and what to do; or null.</summary>
    public string? Trouble => Volatile.Read(ref _trouble);

    /// <summary>Takes a run that has ended.</summary>
    public void Add(EndedRun run)
    {
        Interlocked.Increment(ref _pending);
        _ended.Add(run);
    }

    /// <summary>Gives back one that is done.</summary>
    public bool TryTake(out FinishedPackage? done) => _finished.TryDequeue(out done);

    /// <summary>Waits until all runs are done, or are given up on a disk that takes none.</summary>
    public void WaitForAll()
    {
        _ending.Set();
        _ended.CompleteAdding();
        _thread.Join();
    }

    public void Dispose()
    {
        WaitForAll();
        _ended.Dispose();
        _ending.Dispose();
    }

    private void Work()
    {
        foreach (EndedRun run in _ended.GetConsumingEnumerable())
        {
            _finished.Enqueue(Finish(run));
            Volatile.Write(ref _trouble, null);
            Interlocked.Decrement(ref _pending);
            ProcessMemory.GiveBack();
        }
    }

    // On a disk that is full or fails it waits and tries again until the capture is ended; the journal stays until the package is whole.
    private FinishedPackage Finish(EndedRun run)
    {
        int lastTries = 0;
        for (int waitMs = FirstRetryMs; ; waitMs = Math.Min(2 * waitMs, LongestRetryMs))
        {
            try
            {
                if (!run.Journal.Writer.Flush())
                    throw new IOException(run.Journal.Writer.Trouble ?? "The disk has not taken all of the journal yet.");
                var unsaved = new UnsavedRun(run.Journal.Writer.Path, run.FirstPulse, run.LastPulse, run.Reason, run.MayBeSaved);
                return new FinishedPackage(run, _finish(unsaved), null);
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException && (!_ending.IsSet || ++lastTries < LastTries))
            {
                Volatile.Write(ref _trouble, $"A run waits to be saved: {e.Message} It is tried again and again: free some space or bring the disk back.");
                if (_ending.IsSet)
                    run.Journal.Writer.Flush();
                else
                    _ending.Wait(waitMs);
            }
            catch (Exception e)
            {
                // Whatever went wrong here, the capture goes on and the journal stays.
                _logger.LogError(e, "The run could not be made into a package; its journal is kept: {Journal}", run.Journal.Writer.Path);
                return new FinishedPackage(run, null, e);
            }
        }
    }
}
