using System.Globalization;
using Acquire.Acquisition.Clock;
using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Recording;

namespace Acquire.Service.Capture;

/// <summary>The settings that decide how bytes become a run; kept in the journal so that it can be judged again.</summary>
/// <param name="Marks">Marks on the body.</param>
/// <param name="MaxRpm">Faster than any launch.</param>
/// <param name="GridS">Step of speed.csv, seconds.</param>
/// <param name="StopBelowRpm">Below this a spin may end by itself.</param>
/// <param name="StopWaitS">How long marks must then be away.</param>
/// <param name="LostWaitS">How long marks that ceased at speed are waited for.</param>
public sealed record RunSettings(int Marks, double MaxRpm, double GridS, double StopBelowRpm, double StopWaitS, double LostWaitS)
{
    private const string ClockLimitName = "clockLimitPpm";

    /// <summary>Where the board's nominal rate is taken at the user's word: how far it may be off either way, parts per million. Null where the
    /// host's clock calibrates it.</summary>
    public double? ClockLimitPpm { get; init; }

    /// <summary>From the options of a capture.</summary>
    public static RunSettings From(CaptureOptions options) => new(
        options.Marks, options.MaxRpm, options.GridS, options.StopBelowRpm, options.StopWaitS, options.LostWaitS)
    {
        ClockLimitPpm = options.Clock == "board" ? options.ClockLimitPpm : null,
    };

    /// <summary>From the start entry of a journal; what it does not name is as in a capture with no options.</summary>
    public static RunSettings From(JournalStart start)
    {
        RunSettings usual = From(new CaptureOptions());
        double Of(string name, double otherwise) =>
            start.Settings.TryGetValue(name, out string? text) ? double.Parse(text, CultureInfo.InvariantCulture) : otherwise;
        return new RunSettings(
            start.Source.Marks, Of("maxRpm", usual.MaxRpm), Of("gridS", usual.GridS), Of("stopBelowRpm", usual.StopBelowRpm),
            Of("stopWaitS", usual.StopWaitS), Of("lostWaitS", usual.LostWaitS))
        {
            ClockLimitPpm = start.Settings.ContainsKey(ClockLimitName) ? Of(ClockLimitName, 0) : null,
        };
    }

    /// <summary>For the start entry of a journal.</summary>
    public SortedDictionary<string, string> ToJournal()
    {
        SortedDictionary<string, string> settings = Named();
        if (ClockLimitPpm is { } limit)
            settings[ClockLimitName] = limit.ToString("R", CultureInfo.InvariantCulture);
        return settings;
    }

    /// <summary>The board's rate that the run's seconds are made with, and its standard uncertainty, ppm: as the fit says, or nothing within the
    /// user's limits taken as a rectangle (JCGM 100:2008, 4.3.7).</summary>
    public (double RatePpm, double UPpm) Rate(in ClockEstimate fit) =>
        ClockLimitPpm is { } limit ? (0, limit / Math.Sqrt(3)) : (fit.RatePpm, fit.URatePpm);

    private SortedDictionary<string, string> Named() => new(StringComparer.Ordinal)
    {
        ["maxRpm"] = MaxRpm.ToString("R", CultureInfo.InvariantCulture),
        ["gridS"] = GridS.ToString("R", CultureInfo.InvariantCulture),
        ["stopBelowRpm"] = StopBelowRpm.ToString("R", CultureInfo.InvariantCulture),
        ["stopWaitS"] = StopWaitS.ToString("R", CultureInfo.InvariantCulture),
        ["lostWaitS"] = LostWaitS.ToString("R", CultureInfo.InvariantCulture),
    };

    /// <summary>For the tracker of marks.</summary>
    public TrackerSettings Tracker(double tickHz) => new()
    {
        TickHz = tickHz,
        MarksPerTurn = Marks,
        FastestTurnsPerS = MaxRpm / 60,
        RememberS = LostWaitS + 60,
    };

    /// <summary>For the detector of runs.</summary>
    public RunRules Rules(double tickHz) => new()
    {
        TickHz = tickHz,
        StopBelowTurnsPerS = StopBelowRpm / 60,
        StopWaitS = StopWaitS,
        UnseenWaitS = 10 * StopWaitS,
        LostWaitS = LostWaitS,
    };
}
