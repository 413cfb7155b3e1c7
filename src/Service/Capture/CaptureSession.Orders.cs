using Acquire.Service.Plans;

namespace Acquire.Service.Capture;

/// <summary>What others want of a capture, and how it does it.</summary>
public sealed partial class CaptureSession
{
    /// <summary>What others want of the capture; it is done before the next live state.</summary>
    internal CaptureOrders Orders { get; } = new();

    /// <summary>How the plan stands that is followed; null where none is. Safe to read from any thread.</summary>
    internal PlanView? Plan => _plan?.Live;

    private void TakeOrders()
    {
        while (Orders.TryTake(out CaptureOrder? order))
        {
            switch (order)
            {
                case CaptureOrder.Next next:
                    _journals.NextSetup = next.Setup;
                    break;
                case CaptureOrder.Start:
                    _chain.StartByHand(_found);
                    break;
                case CaptureOrder.End:
                    _chain.EndByHand(_found);
                    break;
                case CaptureOrder.Automatic automatic:
                    _chain.IsAutomatic = automatic.IsOn;
                    break;
            }

            Follow();
        }
    }
}
