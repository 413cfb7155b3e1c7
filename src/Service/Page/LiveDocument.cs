using System.Text.Json.Serialization;
using Acquire.Service.Capture;
using Acquire.Service.Forecasting;

namespace Acquire.Service.Page;

/// <summary>What goes on, for the page; numbers that are not known are null.</summary>
internal sealed record LiveDocument
{
    /// <summary>Whether a capture runs.</summary>
    public required bool Capturing { get; init; }

    /// <summary>When the rest was so, UTC.</summary>
    public DateTimeOffset At { get; init; }

    /// <summary><c>off</c>, <c>waiting</c>, <c>launching</c>, <c>spinning</c>, <c>lost</c> or <c>ended</c>.</summary>
    public required string Phase { get; init; }

    /// <summary>Since when.</summary>
    public DateTimeOffset? PhaseSince { get; init; }

    /// <summary>Whether a launch is a run by itself.</summary>
    public bool Automatic { get; init; } = true;

    /// <summary>Whether something turns that <c>POST /api/live/start</c> would take for a run.</summary>
    public bool CanStart { get; init; }

    /// <summary>Number of the run under way, or of the last, since the capture began; 0 before the first.</summary>
    public int RunNumber { get; init; }

    /// <summary>The body of the run under way, or of the last.</summary>
    public string? Top { get; init; }

    public double? Rpm { get; init; }

    public double? URpm { get; init; }

    public double? DecelRpmS { get; init; }

    public double? SinceReleaseS { get; init; }

    public double? PeakRpm { get; init; }

    public double Turns { get; init; }

    public long Marks { get; init; }

    /// <summary>Pulses received since the capture began, whatever they were.</summary>
    public long Pulses { get; init; }

    public long MissedMarks { get; init; }

    public long Extra { get; init; }

    public LiveEnd? Forecast { get; init; }

    public LiveHealth? Health { get; init; }

    public string? Source { get; init; }

    public bool LinkUp { get; init; }

    /// <summary>Whole seconds of the source's time since the last pulse.</summary>
    public double? LastPulseAgoS { get; init; }

    /// <summary>Whole seconds since the source's last sign of life.</summary>
    public double? LastHeardAgoS { get; init; }

    public CaptureLosses? Losses { get; init; }

    public int FinishedRuns { get; init; }

    /// <summary>Name of the last finished run.</summary>
    public string? LastRun { get; init; }

    public string? Plan { get; init; }

    public required string Library { get; init; }

    public long JournalBytes { get; init; }

    public long? FreeBytes { get; init; }

    public string? Trouble { get; init; }

    /// <summary>Where no capture runs.</summary>
    public static LiveDocument Off(string library) => new() { Capturing = false, Phase = "off", Library = library };

    /// <summary>Of a state.</summary>
    /// <param name="live">The state.</param>
    /// <param name="sourceNs">The time that pulses are stamped with, ns.</param>
    /// <param name="library">The library's folder.</param>
    public static LiveDocument Of(LiveState live, long sourceNs, string library)
    {
        double? heardAgoS = AgoS(live.LastHeardNs, sourceNs);
        double? pulseAgoS = AgoS(live.LastPulseNs, sourceNs);
        return new LiveDocument
        {
            Capturing = true,
            Phase = live.Phase.ToString().ToLowerInvariant(),
            Automatic = live.IsAutomatic,
            CanStart = live.CanStart,
            RunNumber = live.RunsBegun,
            Top = live.RunSetup?.Top,
            Rpm = Known(live.Rpm),
            URpm = Known(live.URpm),
            DecelRpmS = Known(live.DecelRpmPerS),
            SinceReleaseS = Known(live.SinceReleaseS),
            PeakRpm = Known(live.PeakRpm),
            Turns = double.IsFinite(live.Turns) ? live.Turns : 0,
            Marks = live.Marks,
            Pulses = live.Counts.Received,
            MissedMarks = live.Missed,
            Extra = live.Extra,
            Forecast = live.Forecast is { } ahead ? LiveEnd.Of(ahead) : null,
            Health = LiveHealth.Of(live, heardAgoS),
            Source = live.Source,
            LinkUp = live.LinkUp,
            LastPulseAgoS = pulseAgoS,
            LastHeardAgoS = heardAgoS,
            Losses = CaptureLosses.Of(live),
            FinishedRuns = live.FinishedRuns,
            LastRun = live.LastRun is { } run ? Path.GetFileName(Path.TrimEndingDirectorySeparator(run)) : null,
            Plan = live.Plan,
            Library = library,
            JournalBytes = live.JournalBytes,
            Trouble = live.Trouble,
        };
    }

    private static double? AgoS(long hostNs, long nowNs) => hostNs == 0 ? null : Math.Floor(Math.Max(0, (nowNs - hostNs) * 1e-9));

    private static double? Known(double value) => double.IsFinite(value) ? value : null;
}

/// <summary>When the spin under way will end.</summary>
internal sealed record LiveEnd(double AtS, double RemainingS, double LowS, double HighS, double EndRpm, string EndFrom)
{
    /// <summary>Of a forecast.</summary>
    public static LiveEnd Of(LiveForecast ahead) => new(ahead.AtS, ahead.RemainingS, ahead.LowS, ahead.HighS, ahead.EndRpm, ahead.EndFrom);
}

/// <summary>One averaged point of the curve so far.</summary>
internal sealed record CurvePoint(int RunNumber, double TimeS, double? Rpm);

/// <summary>That the curve is to be fetched anew.</summary>
internal sealed record CurveReset(int RunNumber);

/// <summary>That the list of runs has changed.</summary>
internal sealed record LibraryChanged(long Version);

/// <summary>Something that happened in the capture.</summary>
/// <param name="Kind"><c>began</c>, <c>released</c>, <c>lost</c>, <c>back</c>, <c>ended</c>, <c>saved</c>, <c>dismissed</c> or <c>notSaved</c>.</param>
/// <param name="At">When it was noticed, UTC.</param>
/// <param name="RunNumber">Number of the run since the capture began.</param>
/// <param name="Run">Its name once it is saved.</param>
/// <param name="SpinTimeS">Its spin time once it is saved.</param>
/// <param name="Text">For people.</param>
internal sealed record Notice(
    string Kind, DateTimeOffset At, int RunNumber,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.Never)] string? Run,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.Never)] double? SpinTimeS, string Text);
