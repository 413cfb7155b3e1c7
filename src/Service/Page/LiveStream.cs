using System.Net.ServerSentEvents;
using System.Runtime.CompilerServices;

namespace Acquire.Service.Page;

/// <summary>What one page is told, event by event. It holds nothing for a slow page: the newest state goes out when the one before has, and of kept events those
/// that the ring still has.</summary>
/// <param name="hub">The hub.</param>
/// <param name="time">The time.</param>
internal sealed class LiveStream(LiveHub hub, TimeProvider time)
{
    /// <summary>The most streams at once.</summary>
    public const int Most = 64;

    /// <summary>With more streams than these each gets every second state: what shows them, and what serves them, may be a small computer.</summary>
    public const int Few = 8;

    private static readonly TimeSpan Quiet = TimeSpan.FromSeconds(15);
    private static readonly TimeSpan HeldAtMost = TimeSpan.FromMilliseconds(1.5 * LiveHub.LookEveryMs);
    private static readonly TimeSpan Again = TimeSpan.FromSeconds(2);
    private int _open;

    /// <summary>Streams now.</summary>
    public int Open => Volatile.Read(ref _open);

    /// <summary>Takes a place.</summary>
    /// <returns>False where all are taken; else <see cref="Leave"/> gives it back.</returns>
    public bool TryEnter()
    {
        if (Interlocked.Increment(ref _open) <= Most) return true;
        Leave();
        return false;
    }

    /// <summary>Gives a place back.</summary>
    public void Leave() => Interlocked.Decrement(ref _open);

    /// <summary>The events.</summary>
    /// <param name="lastId">Id of the last that the page got; null for none.</param>
    /// <param name="stop">Ends it.</param>
    public async IAsyncEnumerable<SseItem<string>> Events(string? lastId, [EnumeratorCancellation] CancellationToken stop)
    {
        long at = hub.Kept.Last;
        if (!string.IsNullOrEmpty(lastId))
        {
            if (hub.Kept.Number(lastId) is { } seen) at = seen;
            else yield return Reset(at);
        }

        long sent = 0;
        string phase = "";
        bool waited = false;
        while (!stop.IsCancellationRequested)
        {
            Task news = hub.News;
            IReadOnlyList<KeptEvent>? missed = hub.Kept.After(at);
            if (missed is null)
            {
                at = hub.Kept.Last;
                yield return Reset(at);
                continue;
            }

            foreach (KeptEvent one in missed)
            {
                yield return new SseItem<string>(one.Json, one.Kind) { EventId = hub.Kept.Id(one.Number) };
                at = one.Number;
            }

            LiveFrame latest = hub.Latest;
            bool isHeld = latest.Number == sent + 1 && Open > Few && latest.Document.Phase == phase && !waited;
            if (latest.Number != sent && !isHeld)
            {
                (sent, phase) = (latest.Number, latest.Document.Phase);
                yield return new SseItem<string>(latest.Json, "live") { EventId = hub.Kept.Id(at), ReconnectionInterval = Again };
            }

            waited = !await Wait(news, isHeld ? HeldAtMost : Quiet, stop);
            if (waited && !isHeld) yield return new SseItem<string>("{}", "still");
        }
    }

    private SseItem<string> Reset(long at) => new("{}", "reset") { EventId = hub.Kept.Id(at) };

    // False where nothing came: for so long that whoever is in between might think the link dead, or that what is held has to go.
    private async Task<bool> Wait(Task news, TimeSpan longest, CancellationToken stop)
    {
        try
        {
            await news.WaitAsync(longest, time, stop);
            return true;
        }
        catch (TimeoutException)
        {
            return false;
        }
        catch (OperationCanceledException)
        {
            return true;
        }
    }
}
