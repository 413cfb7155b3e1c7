using Microsoft.Extensions.Hosting.Systemd;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Capture;

/// <summary>Looks at the health of a capture from a thread of its own, and tells the service's manager that it is alive for as long as it is: no
/// word is the manager's sign to start it anew.</summary>
internal sealed class HealthWatch : IDisposable
{
    private static readonly ServiceState Alive = new("WATCHDOG=1");
    private static readonly TimeSpan LongestStep = TimeSpan.FromMilliseconds(250);
    private readonly Func<bool> _isAlive;
    private readonly ISystemdNotifier? _manager;
    private readonly TimeSpan _every;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly ManualResetEvent _stop = new(false);
    private readonly Thread _thread;
    private bool _wasAlive = true;
    private bool _faulted;

    /// <summary>Begins.</summary>
    /// <param name="isAlive">Looks at the capture and says whether it is alive.</param>
    /// <param name="manager">The service's manager, or null.</param>
    /// <param name="limit">The longest silence that the manager bears; it is told twice as often. Null where it wants no signs of life.</param>
    /// <param name="time">Real time.</param>
    /// <param name="logger">Told when the capture hangs.</param>
    public HealthWatch(Func<bool> isAlive, ISystemdNotifier? manager, TimeSpan? limit, TimeProvider time, ILogger logger)
    {
        _isAlive = isAlive;
        _manager = limit is null ? null : manager;
        _every = (limit ?? TimeSpan.MaxValue) / 2;
        _time = time;
        _logger = logger;
        _thread = new Thread(Watch) { IsBackground = true, Name = "health" };
        _thread.Start();
    }

    /// <summary>Ends it.</summary>
    public void Dispose()
    {
        _stop.Set();
        _thread.Join();
        _stop.Dispose();
    }

    private void Watch()
    {
        TimeSpan step = _every < LongestStep ? _every : LongestStep;
        long? told = null;
        do
        {
            bool alive = Look();
            if (!alive || (told is { } stamp && _time.GetElapsedTime(stamp) + (step / 2) < _every))
                continue;
            told = _time.GetTimestamp();
            Tell();
        }
        while (!_stop.WaitOne(step));
    }

    private bool Look()
    {
        bool alive = _isAlive();
        if (alive != _wasAlive)
        {
            if (alive) _logger.LogWarning("The capture moves again");
            else _logger.LogError("The capture hangs: the service's manager is no longer told that it is alive");
        }

        _wasAlive = alive;
        return alive;
    }

    // A manager that cannot be told is no reason to end a capture; it will act as it was set up to.
    private void Tell()
    {
        try
        {
            _manager?.Notify(Alive);
        }
        catch (Exception e) when (e is System.Net.Sockets.SocketException or IOException)
        {
            if (!_faulted) _logger.LogWarning("The service's manager cannot be told that the capture is alive: {Problem}", e.Message);
            _faulted = true;
        }
    }
}
