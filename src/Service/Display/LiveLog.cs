using Acquire.Motion;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Display;

/// <summary>Says the live state in log lines where there is no terminal: every change of phase, link or trouble, a lamp's light once in each
/// wait for a launch, and a line a minute while something spins.</summary>
/// <param name="logger">The log.</param>
internal sealed class LiveLog(ILogger logger)
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(1000);
    private static readonly TimeSpan Between = TimeSpan.FromMinutes(1);
    private LiveState? _said;
    private long _saidStamp;
    private bool _lampSaid;
    private bool _faulted;

    /// <summary>Looks at the state until told to end, and once more then.</summary>
    public async Task RunAsync(Func<LiveState> live, TimeProvider time, CancellationToken end)
    {
        using var timer = new PeriodicTimer(Interval, time);
        do Look(live, time);
        while (await NextAsync(timer, end));
        Look(live, time);
    }

    /// <summary>Says what is new.</summary>
    public void Look(Func<LiveState> live, TimeProvider time)
    {
        try
        {
            LiveState now = live();
            if (now.Trouble != _said?.Trouble && now is { Trouble: not null, TroubleIsLogged: false }) logger.LogWarning("{Trouble}", now.Trouble);
            if (_said is not null && now.FinishedRuns != _said.FinishedRuns) logger.LogInformation("Run saved in {Folder}", now.LastRun);
            bool changed = _said is null || now.Phase != _said.Phase || now.LinkUp != _said.LinkUp;
            if (now.Phase != RunPhase.Waiting) _lampSaid = false;
            bool lamp = double.IsFinite(now.LampHz) && !_lampSaid;
            _lampSaid |= lamp;
            bool due = double.IsFinite(now.Rpm) && time.GetElapsedTime(_saidStamp) >= Between;
            if (changed || due || lamp)
            {
                logger.LogInformation("{State}", LiveWords.Line(now));
                _saidStamp = time.GetTimestamp();
            }

            _said = now;
        }
        catch (Exception e)
        {
            if (!_faulted) logger.LogWarning(e, "The live log failed; the capture goes on without it");
            _faulted = true;
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
}
