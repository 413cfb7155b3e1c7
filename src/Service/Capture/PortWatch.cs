using Acquire.Acquisition;

namespace Acquire.Service.Capture;

/// <summary>Says why a serial port or GPIO line is not open, and ends the capture where waiting for it cannot help.</summary>
/// <param name="source">The source.</param>
internal sealed class PortWatch(IPulseSource source)
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(500);
    private volatile bool _wasOpen;
    private LinkProblem? _hopeless;

    /// <summary>True where the call is to be corrected, false where the port or its permissions are.</summary>
    public static bool IsWrongCall(LinkProblemKind kind) =>
        kind is LinkProblemKind.NotThere or LinkProblemKind.WrongKind or LinkProblemKind.Settings;

    /// <summary>The state with the port's problem in it, unless it already tells of trouble.</summary>
    public LiveState AddTo(LiveState live)
    {
        if (live.LinkUp) _wasOpen = true;
        if (live.LinkUp || (live.Trouble is not null && !live.TroubleIsLogged) || source.Problem is not { } problem) return live;
        return live with { Trouble = live.Trouble is null ? problem.Message : $"{problem.Message} {live.Trouble}", TroubleIsLogged = false };
    }

    /// <summary>Looks at the port until it was open once or told to end.</summary>
    /// <param name="giveUp">Ends the capture.</param>
    /// <param name="time">The clock on the wall.</param>
    /// <param name="end">Ends the watch.</param>
    public async Task RunAsync(Action giveUp, TimeProvider time, CancellationToken end)
    {
        using var timer = new PeriodicTimer(Interval, time);
        try
        {
            while (!_wasOpen && await timer.WaitForNextTickAsync(end))
            {
                if (_wasOpen || source.Problem is not { Kind: LinkProblemKind.WrongKind or LinkProblemKind.Settings } problem) continue;
                _hopeless = problem;
                giveUp();
                return;
            }
        }
        catch (OperationCanceledException)
        {
            // Told to end.
        }
    }

    /// <summary>Why the capture could not begin at all; null where it did, or where it was still waiting.</summary>
    /// <param name="wait">True where a port that is not there is waited for.</param>
    public LinkProblem? Refusal(bool wait) => _hopeless ?? (wait || _wasOpen ? null : source.Problem);
}
