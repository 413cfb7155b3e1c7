using Acquire.Acquisition.Air;
using Acquire.Motion;
using Acquire.Recording;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Capture;

/// <summary>A sensor of the air, for displays.</summary>
/// <param name="Sensor">Its name.</param>
/// <param name="Last">Its last reading; empty where it gives none now.</param>
/// <param name="LastNs">When it last gave one, nanoseconds of the host's monotonic clock; 0 before the first.</param>
/// <param name="LeftOut">Looks at which it gave nothing that can be trusted.</param>
/// <param name="Problem">What is wrong now; null where nothing is.</param>
public sealed record LiveAir(string Sensor, AirReading Last, long LastNs, long LeftOut, string? Problem);

/// <summary>Takes what the sensors of the air were found to say into the journal, and tells once of a sensor that fails and of one that is back. The sensors are
/// read by threads of their own; nothing here waits for them.</summary>
internal sealed class AirWatch : IDisposable
{
    /// <summary>A reading that is older tells nothing of the air when a run begins, ns.</summary>
    public const long FreshNs = 60_000_000_000;

    private readonly Watched[] _sensors;
    private readonly ILogger _logger;
    private JournalWriter? _journal;

    /// <summary>Makes a watch; <see cref="Start"/> begins.</summary>
    public AirWatch(IEnumerable<AirReader> readers, ILogger logger)
    {
        _sensors = [.. readers.Select(r => new Watched(r))];
        _logger = logger;
    }

    /// <summary>What is wrong with the first sensor that fails, for people; null where none does.</summary>
    public string? Problem => Array.Find(_sensors, s => s.Said is not null) is { } failing ? Words(failing.Reader.Name, failing.Said!) : null;

    /// <summary>The sensors as they are now.</summary>
    public IReadOnlyList<LiveAir> Live => [.. _sensors.Select(s => (s.Reader.Name, s.Reader.State)).Select(s => new LiveAir(s.Name.ToString(), s.State.Last, s.State.LastNs, s.State.LeftOut, s.State.Problem))];

    /// <summary>Begins to read the sensors.</summary>
    public void Start()
    {
        foreach (Watched sensor in _sensors)
            sensor.Reader.Start();
    }

    /// <summary>Takes what has come.</summary>
    /// <param name="now">The host's monotonic clock, ns.</param>
    /// <param name="journal">The journal that is written.</param>
    public void Look(long now, JournalWriter journal)
    {
        bool isNew = _journal is not null && journal != _journal;
        _journal = journal;
        foreach (Watched sensor in _sensors)
        {
            // A run that begins now is to find the air of just before in its own journal.
            if (isNew && sensor.Last is { } last && now - last.HostNs < FreshNs)
                Append(journal, sensor.Reader.Name, last);
            while (sensor.Reader.TryTake(out AirLook look))
            {
                Append(journal, sensor.Reader.Name, look);
                sensor.Last = look.Reading.IsEmpty ? sensor.Last : look;
            }

            Tell(sensor, now, journal);
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        foreach (Watched sensor in _sensors)
            sensor.Reader.Dispose();
    }

    private void Tell(Watched sensor, long now, JournalWriter journal)
    {
        string? problem = sensor.Reader.State.Problem;
        if (problem is not null && sensor.Said is null)
        {
            string words = Words(sensor.Reader.Name, problem);
            _logger.LogWarning("{Problem} The capture goes on without", words);
            journal.TryAppend(now, new JournalNote(words, 0, RunEventNames.AirLost));
            sensor.SinceNs = now;
        }
        else if (problem is null && sensor.Said is not null)
        {
            string words = FormattableString.Invariant($"Air sensor {sensor.Reader.Name} is read again, after {(now - sensor.SinceNs) / 1_000_000_000} s");
            _logger.LogWarning("{Back}", words);
            journal.TryAppend(now, new JournalNote(words, 0, RunEventNames.AirBack));
        }

        sensor.Said = problem;
    }

    private static string Words(AirSensorName name, string problem) => $"Air sensor {name}: {problem}.";

    private static void Append(JournalWriter journal, AirSensorName name, in AirLook look) =>
        journal.TryAppend(look.HostNs, new AirLooked(name.ToString(), look.Reading.TemperatureC, look.Reading.PressureHPa, look.Reading.HumidityPct));

    private sealed class Watched(AirReader reader)
    {
        public AirReader Reader => reader;

        public AirLook? Last { get; set; }

        public string? Said { get; set; }

        public long SinceNs { get; set; }
    }
}
