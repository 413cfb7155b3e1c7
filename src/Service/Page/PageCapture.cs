using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Plans;

namespace Acquire.Service.Page;

/// <summary>What the page sees of the capture beside it, and the only way in which it reaches it: immutable states to read, and a queue of orders.</summary>
/// <param name="Live">The live state; safe from any thread, never waits.</param>
/// <param name="Status">The status; safe from any thread.</param>
/// <param name="Orders">What the page's user wants of the capture.</param>
/// <param name="Plan">How the plan stands; null where none is followed.</param>
/// <param name="Redraw">Has a run's page drawn anew beside everything else.</param>
/// <param name="Options">The capture's settings.</param>
/// <param name="SourceTime">The time that pulses are stamped with.</param>
internal sealed record PageCapture(
    Func<LiveState> Live, Func<CaptureStatus> Status, CaptureOrders Orders, Func<PlanView?> Plan, Action<string> Redraw, CaptureOptions Options, TimeProvider SourceTime)
{
    /// <summary>Set-up of the settings.</summary>
    public RunSetup Setup => Options.Setup();
}
