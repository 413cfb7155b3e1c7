using System.Collections.Concurrent;
using System.Globalization;

namespace Acquire.Acquisition.Air;

/// <summary>A look at a sensor, whatever came of it.</summary>
/// <param name="HostNs">When, nanoseconds of the host's monotonic clock.</param>
/// <param name="Reading">What it gave; empty where it gave nothing that can be trusted.</param>
public readonly record struct AirLook(long HostNs, AirReading Reading);

/// <summary>How a sensor does; immutable.</summary>
/// <param name="Last">The last reading; empty where there was none or the last look gave none.</param>
/// <param name="LastNs">When that was; 0 before the first.</param>
/// <param name="Readings">Looks that gave something.</param>
/// <param name="LeftOut">Looks that gave nothing that can be trusted.</param>
/// <param name="Problem">What is wrong now, for people; null where nothing is.</param>
public sealed record AirState(AirReading Last, long LastNs, long Readings, long LeftOut, string? Problem);

/// <summary>Looks at one sensor of the air every so often, on a thread of its own: whatever the sensor or its bus does holds up nobody else. A fault is
/// told until the sensor has answered well a few times; nothing is made up for it. A sensor that is away is opened anew at each look.</summary>
public sealed class AirReader : IDisposable
{
    /// <summary>From one look to the next.</summary>
    public static readonly TimeSpan Interval = TimeSpan.FromSeconds(10);

    private const long HangsNs = 25_000_000_000;   // a bus that does not answer gives up after a second or so
    private const int StuckLooks = 30;             // the lowest bits of each of these sensors are noise: five minutes without a change are a fault
    private const int WellAgain = 3;
    private const int MostWaiting = 360;           // an hour that nobody took
    private const int LeaveMs = 1000;
    private readonly Func<AirSensorName, IAirSensor> _open;
    private readonly TimeProvider _time;
    private readonly ConcurrentQueue<AirLook> _looks = new();
    private readonly AutoResetEvent _due = new(true);
    private readonly Thread _thread;
    private ITimer? _timer;
    private AirState _state = new(AirReading.None, 0, 0, 0, null);
    private volatile bool _stop;
    private long _beganNs;
    private byte[] _bytes = [];
    private int _same;
    private int _well = WellAgain;

    /// <summary>Makes a reader; <see cref="Start"/> begins.</summary>
    /// <param name="name">The sensor.</param>
    /// <param name="open">Opens it.</param>
    /// <param name="time">The clock by which looks come and are stamped.</param>
    public AirReader(AirSensorName name, Func<AirSensorName, IAirSensor> open, TimeProvider time)
    {
        Name = name;
        _open = open;
        _time = time;
        _thread = new Thread(Work) { IsBackground = true, Name = "air" };
    }

    /// <summary>The sensor.</summary>
    public AirSensorName Name { get; }

    /// <summary>How it does; safe to read from any thread.</summary>
    public AirState State
    {
        get
        {
            AirState state = Volatile.Read(ref _state);
            long began = Interlocked.Read(ref _beganNs);
            long silentNs = began == 0 ? 0 : _time.MonotonicNs() - began;
            return silentNs <= HangsNs ? state : state with { Last = AirReading.None, Problem = string.Create(CultureInfo.InvariantCulture, $"it hangs: no answer for {silentNs / 1_000_000_000} s, nor an error; check its wires") };
        }
    }

    /// <summary>Begins to look: at once, then at each interval.</summary>
    public void Start()
    {
        _thread.Start();
        _timer = _time.CreateTimer(_ => _due.Set(), null, Interval, Interval);
    }

    /// <summary>Gives the next look that was not taken yet. Never waits.</summary>
    public bool TryTake(out AirLook look) => _looks.TryDequeue(out look);

    /// <summary>Ends it. A sensor that hangs is left to itself.</summary>
    public void Dispose()
    {
        _timer?.Dispose();
        _stop = true;
        _due.Set();
        if (_thread.IsAlive)
            _thread.Join(LeaveMs); // the event is not disposed of: a last tick of the timer may still set it
    }

    private void Work()
    {
        IAirSensor? sensor = null;
        while (_due.WaitOne() && !_stop)
        {
            Interlocked.Exchange(ref _beganNs, _time.MonotonicNs());
            (AirReading reading, string? problem) = Look(ref sensor);
            long now = _time.MonotonicNs();
            Interlocked.Exchange(ref _beganNs, 0);
            Keep(now, reading, problem);
        }

        sensor?.Dispose();
    }

    private void Keep(long now, AirReading reading, string? problem)
    {
        _well = problem is null ? _well + 1 : 0;
        AirState before = Volatile.Read(ref _state);
        bool some = !reading.IsEmpty;
        Volatile.Write(ref _state, new AirState(
            reading, some ? now : before.LastNs, before.Readings + (some ? 1 : 0), before.LeftOut + (some ? 0 : 1), problem ?? (_well < WellAgain ? before.Problem : null)));
        if (_looks.Count < MostWaiting)
            _looks.Enqueue(new AirLook(now, reading));
    }

    private (AirReading Reading, string? Problem) Look(ref IAirSensor? sensor)
    {
        try
        {
            sensor ??= _open(Name);
            AirReading reading = AirLimits.Possible(sensor.Read(), out string? problem);
            AirReading last = Volatile.Read(ref _state).Last;
            if (!reading.IsEmpty && AirLimits.IsStep(last, reading))
            {
                AirReading again = AirLimits.Possible(sensor.Read(), out problem);
                if (AirLimits.IsStep(reading, again))
                    return (AirReading.None, "two readings one after the other do not agree: check its wires");
                reading = again;
            }

            if (!IsStuck(sensor.LastBytes))
                return (reading, problem);
            Close(ref sensor);
            return (AirReading.None, "it has given the same bytes for five minutes: it does not measure");
        }
        catch (Exception e)
        {
            // Whatever a driver throws, the capture does without.
            Close(ref sensor);
            return (AirReading.None, AirSensors.Explain(Name, e));
        }
    }

    private bool IsStuck(ReadOnlySpan<byte> bytes)
    {
        _same = bytes.Length > 0 && bytes.SequenceEqual(_bytes) ? _same + 1 : 0;
        if (_same == 0)
            _bytes = bytes.ToArray();
        return _same >= StuckLooks;
    }

    private static void Close(ref IAirSensor? sensor)
    {
        try
        {
            sensor?.Dispose();
        }
        catch (Exception)
        {
            // It is given up in any case.
        }

        sensor = null;
    }
}
