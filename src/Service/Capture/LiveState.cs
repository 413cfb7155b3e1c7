using Acquire.Acquisition;
using Acquire.Motion;
using Acquire.Service.Forecasting;

namespace Acquire.Service.Capture;

/// <summary>What the capture knows at one moment, for displays; immutable.</summary>
public sealed record LiveState
{
    /// <summary>The phase of the run.</summary>
    public RunPhase Phase { get; init; } = RunPhase.Waiting;

    /// <summary>Whether a launch is a run by itself; else only what the user says is.</summary>
    public bool IsAutomatic { get; init; } = true;

    /// <summary>True where something turns that the user could say is a run.</summary>
    public bool CanStart { get; init; }

    /// <summary>Runs that have begun since the capture did, those that came to nothing among them.</summary>
    public int RunsBegun { get; init; }

    /// <summary>Of these those that came to nothing.</summary>
    public int RunsDismissed { get; init; }

    /// <summary>Of these those that could not be saved.</summary>
    public int RunsNotSaved { get; init; }

    /// <summary>Set-up of the run under way, or of the last; null before the first.</summary>
    public Recording.RunSetup? RunSetup { get; init; }

    /// <summary>Speed, turns a minute; NaN where nothing spins or nothing is known.</summary>
    public double Rpm { get; init; } = double.NaN;

    /// <summary>Standard uncertainty of the speed.</summary>
    public double URpm { get; init; } = double.NaN;

    /// <summary>How much older than the last pulse the mark is that the speed is of, seconds; NaN where no speed is shown.</summary>
    public double SpeedAgeS { get; init; } = double.NaN;

    /// <summary>Deceleration, rpm a second, positive while slowing; NaN where not known.</summary>
    public double DecelRpmPerS { get; init; } = double.NaN;

    /// <summary>Seconds since the release; NaN before it.</summary>
    public double SinceReleaseS { get; init; } = double.NaN;

    /// <summary>The highest speed of this run, turns a minute; NaN before a launch.</summary>
    public double PeakRpm { get; init; } = double.NaN;

    /// <summary>Turns since the first pulse of the run.</summary>
    public double Turns { get; init; }

    /// <summary>Marks of this run.</summary>
    public long Marks { get; init; }

    /// <summary>Marks of this run that passed unseen.</summary>
    public long Missed { get; init; }

    /// <summary>Pulses of this run that were no marks.</summary>
    public long Extra { get; init; }

    /// <summary>Share of the marks of the last turns that came as predicted, 0 to 1; NaN where nothing spins.</summary>
    public double SignalQuality { get; init; } = double.NaN;

    /// <summary>Flashes a second of the lamp that the pulses come from while nothing spins; NaN where they are no lamp's.</summary>
    public double LampHz { get; init; } = double.NaN;

    /// <summary>When the spin under way will end; null where that is not known.</summary>
    public LiveForecast? Forecast { get; init; }

    /// <summary>Totals of the source since the capture began.</summary>
    public SourceCounts Counts { get; init; }

    /// <summary>True while the link to the source is there.</summary>
    public bool LinkUp { get; init; }

    /// <summary>Port and board, for people.</summary>
    public string Source { get; init; } = "";

    /// <summary>Nanoseconds of the host's monotonic clock at the last sign of life of the source; 0 before the first.</summary>
    public long LastHeardNs { get; init; }

    /// <summary>Nanoseconds of the same clock at the last pulse; 0 before the first.</summary>
    public long LastPulseNs { get; init; }

    /// <summary>Runs finished since the capture began.</summary>
    public int FinishedRuns { get; init; }

    /// <summary>Folder of the last finished run, or null.</summary>
    public string? LastRun { get; init; }

    /// <summary>Which row of a plan is under way or next; null where none is followed.</summary>
    public string? Plan { get; init; }

    /// <summary>The sensors of the air; none where none was named.</summary>
    public IReadOnlyList<LiveAir> Air { get; init; } = [];

    /// <summary>Bytes in the journal.</summary>
    public long JournalBytes { get; init; }

    /// <summary>What is wrong and what to do about it, or null.</summary>
    public string? Trouble { get; init; }

    /// <summary>True where the log has told of the trouble already.</summary>
    public bool TroubleIsLogged { get; init; }
}
