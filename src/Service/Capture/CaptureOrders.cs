using System.Collections.Concurrent;
using Acquire.Recording;

namespace Acquire.Service.Capture;

/// <summary>What somebody beside the capture wants of it.</summary>
internal abstract record CaptureOrder
{
    private CaptureOrder()
    {
    }

    /// <summary>Runs that begin from now on have this set-up; where a plan is followed, what it does not say of it.</summary>
    public sealed record Next(RunSetup Setup) : CaptureOrder;

    /// <summary>What turns now is a run.</summary>
    public sealed record Start : CaptureOrder;

    /// <summary>The run under way ends here.</summary>
    public sealed record End : CaptureOrder;

    /// <summary>Whether a launch is a run by itself, or only what <see cref="Start"/> says is.</summary>
    public sealed record Automatic(bool IsOn) : CaptureOrder;
}

/// <summary>Orders on their way to a capture, whose thread takes them when it comes round: nobody ever waits for anybody.</summary>
internal sealed class CaptureOrders
{
    private const int Most = 64;
    private readonly ConcurrentQueue<CaptureOrder> _waiting = new();

    /// <summary>Gives an order. For any thread.</summary>
    /// <returns>False where so many wait that the capture cannot be coming round.</returns>
    public bool TryGive(CaptureOrder order)
    {
        if (_waiting.Count >= Most)
            return false;
        _waiting.Enqueue(order);
        return true;
    }

    /// <summary>Takes the oldest. For the capture's thread.</summary>
    public bool TryTake(out CaptureOrder? order) => _waiting.TryDequeue(out order);
}
