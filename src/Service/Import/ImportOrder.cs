using Acquire.Service.Capture;

namespace Acquire.Service.Import;

/// <summary>What the numbers of a file are.</summary>
internal enum ImportKind
{
    /// <summary>The moments of pulses.</summary>
    Pulses,

    /// <summary>The times between pulses.</summary>
    Intervals,

    /// <summary>Speeds at moments.</summary>
    Speed,
}

/// <summary>What is to be imported.</summary>
/// <param name="File">Full path of the file.</param>
/// <param name="Kind">What its numbers are.</param>
/// <param name="Columns">Where they stand.</param>
/// <param name="Unit">Name of the unit of time.</param>
/// <param name="ValueUnit">Name of the unit of speed.</param>
/// <param name="Strict">Whether a single line that would be left out is too much.</param>
/// <param name="Started">When the file's first time was; null where that is not told.</param>
/// <param name="ClockLimitPpm">How far the clock behind the times may be off, parts per million either way.</param>
/// <param name="Options">Library, set-up, marks, and what makes a run.</param>
internal sealed record ImportOrder(
    string File, ImportKind Kind, ImportColumns Columns, string Unit, string ValueUnit, bool Strict, DateTimeOffset? Started, double ClockLimitPpm, CaptureOptions Options)
{
    /// <summary>Units of speed, each with the turns a minute in it.</summary>
    public static readonly IReadOnlyList<(string Name, double Rpm)> ValueUnits = [("rpm", 1), ("rev/s", 60), ("rad/s", 30 / Math.PI), ("deg/s", 1.0 / 6)];

    /// <summary>Seconds in the unit of time.</summary>
    public decimal UnitS => TimeUnits.All.First(u => u.Name == Unit).Seconds;

    /// <summary>Turns a minute in the unit of speed.</summary>
    public double UnitRpm => ValueUnits.First(u => u.Name == ValueUnit).Rpm;

    /// <summary>How the pulses are judged.</summary>
    public RunSettings Settings => RunSettings.From(Options) with { ClockLimitPpm = ClockLimitPpm };

    /// <summary>Standard uncertainty of the clock's rate: even between the limits (JCGM 100:2008, 4.3.7), ppm.</summary>
    public double URatePpm => ClockLimitPpm / Math.Sqrt(3);

    /// <summary>What a run says of its source.</summary>
    public string Detail(string how) => $"{Path.GetFileName(File)}, {how}, column {Columns.TimeColumn} in {Unit}"
        + (Kind == ImportKind.Speed ? $", column {Columns.ValueColumn} in {ValueUnit}" : "");
}

/// <summary>What an import came to.</summary>
/// <param name="Folders">The runs' folders; none where there are problems.</param>
/// <param name="Problems">Why nothing was imported.</param>
/// <param name="Notes">What is to be said beside.</param>
internal sealed record ImportOutcome(IReadOnlyList<string> Folders, IReadOnlyList<string> Problems, IReadOnlyList<string> Notes);

/// <summary>When a file's first time was.</summary>
/// <param name="Utc">The moment.</param>
/// <param name="How">How that is known, for people.</param>
internal sealed record ImportStart(DateTimeOffset Utc, string How)
{
    private const long FirstUnixS = 946_684_800;  // 2000
    private const long LastUnixS = 4_102_444_800; // 2100

    /// <summary>As told; else by the times themselves where they count from 1970; else the file's own time stands for it.</summary>
    public static ImportStart Of(ImportOrder order, long firstNs)
    {
        if (order.Started is { } told)
            return new ImportStart(told, "");
        long seconds = firstNs / 1_000_000_000;
        if (order.Kind != ImportKind.Intervals && seconds is >= FirstUnixS and <= LastUnixS)
            return new ImportStart(DateTimeOffset.UnixEpoch.AddTicks(firstNs / 100), "the times count from 1970 (UTC): the start is taken from them");
        return new ImportStart(new DateTimeOffset(System.IO.File.GetLastWriteTimeUtc(order.File), TimeSpan.Zero), "when it began is not told (--started): the file's own time stands for it");
    }
}
