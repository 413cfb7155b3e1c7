using System.Text.Json.Serialization;

namespace Acquire.Recording;

/// <summary>The object <c>acquire</c> of a run's datapackage.json, version 1; names and units are those of the file.</summary>
public sealed record RunDescriptor
{
    /// <summary>The version of the format.</summary>
    public int Version { get; init; } = 1;

    /// <summary>The program that wrote the run and its version.</summary>
    public required string Software { get; init; }

    /// <summary>UTC time of the first pulse.</summary>
    public required DateTimeOffset StartedAt { get; init; }

    /// <summary>Why the run ended: one of <see cref="EndReasons"/>.</summary>
    public required string EndReason { get; init; }

    /// <summary>What was spun, on what, by whom.</summary>
    public required RunSetup Setup { get; init; }

    /// <summary>Where the pulses came from.</summary>
    public required RunSource Source { get; init; }

    /// <summary>How the source's clock relates to the host's.</summary>
    public required RunClock Clock { get; init; }

    /// <summary>What was received and what was lost.</summary>
    public required RunCounts Counts { get; init; }

    /// <summary>What came out.</summary>
    public required RunResult Result { get; init; }

    /// <summary>Where the uncertainty of the spin time comes from; null in runs that do not say.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public RunBudget? Budget { get; init; }

    /// <summary>The wobble that the marks show; null where none was found and in runs that do not say.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public RunWobble? Wobble { get; init; }

    /// <summary>Where the air is known from; null where it was neither measured nor entered, and in runs that do not say.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public RunAir? Air { get; init; }

    /// <summary>What was seen of the end of a run that ended as stopped; null in other runs and in those that do not say.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public RunStop? Stop { get; init; }

    /// <summary>The row of a plan that the run was spun for; null where it followed none.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public RunPlan? Plan { get; init; }

    /// <summary>Why the run is not to count (a failed launch, the signal lost), as the capture or the user said; null where it counts.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public string? Spoilt { get; init; }

    /// <summary>What was changed of the set-up since the run was written, in order; null where nothing was.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public IReadOnlyList<RunEdit>? Edits { get; init; }
}

/// <summary>The reasons for which a run ends.</summary>
public static class EndReasons
{
    /// <summary>The spin ended by itself.</summary>
    public const string Stopped = "stopped";

    /// <summary>Marks ceased at speed and did not come back.</summary>
    public const string SignalLost = "signal-lost";

    /// <summary>The source went away and did not come back.</summary>
    public const string SourceLost = "source-lost";

    /// <summary>The user ended it.</summary>
    public const string Operator = "operator";

    /// <summary>The capture was cut short; what its journal held was made into a run later.</summary>
    public const string Recovered = "recovered";

    /// <summary>All of them.</summary>
    public static readonly IReadOnlyList<string> All = [Stopped, SignalLost, SourceLost, Operator, Recovered];
}

/// <summary>Set-up of a run.</summary>
public sealed record RunSetup
{
    /// <summary>The spinning body.</summary>
    public string Top { get; init => field = value ?? ""; } = "";

    /// <summary>What it spins on.</summary>
    public string Base { get; init => field = value ?? ""; } = "";

    /// <summary>An enclosure round it.</summary>
    public string Cover { get; init => field = value ?? ""; } = "";

    /// <summary>Who launched it.</summary>
    public string Operator { get; init => field = value ?? ""; } = "";

    /// <summary>Free text.</summary>
    public string Note { get; init => field = value ?? ""; } = "";

    /// <summary>Numeric factors by name; the name carries the unit.</summary>
    public IReadOnlyDictionary<string, double> Factors { get; init => field = value ?? NoFactors; } = NoFactors;

    // What a file does not name the reader of JSON sets to nothing, whatever stands here.
    private static IReadOnlyDictionary<string, double> NoFactors => new SortedDictionary<string, double>(StringComparer.Ordinal);
}

/// <summary>The source of a run.</summary>
/// <param name="Kind"><c>serial</c>, <c>gpio</c>, <c>import</c> or <c>simulation</c>.</param>
/// <param name="Detail">Port, board, line or file.</param>
/// <param name="TickHz">Nominal ticks a second.</param>
/// <param name="MarksPerTurn">Marks on the body.</param>
/// <param name="MarkOffsets">Where each mark sits, turns from mark 0.</param>
public sealed record RunSource(string Kind, string Detail, double TickHz, int MarksPerTurn, IReadOnlyList<double> MarkOffsets);

/// <summary>The source's clock against the host's.</summary>
/// <param name="RatePpm">How much the source's clock runs fast (positive) against the host's, parts in a million.</param>
/// <param name="URatePpm">Its standard uncertainty.</param>
/// <param name="HostClock"><c>synchronised</c>, <c>unsynchronised</c> or <c>unknown</c>.</param>
public sealed record RunClock(double RatePpm, double URatePpm, string HostClock)
{
    /// <summary>By how much the run's start was moved, seconds, since the host's clock was set after it; null where it was not.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public double? StartCorrectedS { get; init; }
}

/// <summary>Counts of a run.</summary>
/// <param name="Received">Pulses received.</param>
/// <param name="Marks">Of these judged marks.</param>
/// <param name="Extra">Of these judged no marks.</param>
/// <param name="Missed">Marks that passed with no pulse received while the run went on.</param>
/// <param name="BadLines">Lines that failed their check.</param>
/// <param name="LostOnLine">Pulses lost between source and host.</param>
/// <param name="DroppedByBoard">Pulses that the board had no room for.</param>
/// <param name="Gaps">Times the signal was lost and came back, or was lost for good.</param>
public sealed record RunCounts(
    long Received, long Marks, long Extra, long Missed, long BadLines, long LostOnLine, long DroppedByBoard, long Gaps)
{
    /// <summary>How many marks the body seems to have, whatever was set; 0 where the pulses do not tell, null in runs that do not say.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public int? MarksSeen { get; init; }
}

/// <summary>The result of a run; times in seconds since its first pulse, speeds in turns a minute, u = standard uncertainty.</summary>
/// <param name="PeakRpm">The highest speed.</param>
/// <param name="UPeakRpm">Its standard uncertainty.</param>
/// <param name="ReleaseS">When the speed peaked.</param>
/// <param name="StopS">When the spin ended.</param>
/// <param name="SpinTimeS">From release to stop.</param>
/// <param name="USpinTimeS">Its standard uncertainty.</param>
/// <param name="LastRpm">The speed at the last marks.</param>
public sealed record RunResult(
    double PeakRpm, double UPeakRpm, double ReleaseS, double StopS, double SpinTimeS, double USpinTimeS, double LastRpm);

/// <summary>What the sensor saw of the end of a spin.</summary>
/// <param name="Witnessed">Whether pulses soon after the last mark show that the sensor still saw.</param>
/// <param name="LastMarkS">The last mark that the body's own turning brought, seconds since the first pulse.</param>
public sealed record RunStop(bool Witnessed, double LastMarkS)
{
    /// <summary>Where nothing was seen after the last mark: when the body must have fallen at the latest, seconds since the first pulse, were
    /// the sensor blocked and the body to spin on unseen; null where the end was witnessed.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public double? LatestS { get; init; }
}

/// <summary>A slow precession; wobble.csv has its course. Its rate goes as one over the speed: of a fast top Ω = m g l/(I3 ω), with weight m g, height
/// l of the centre of mass above the tip, moment of inertia I3 about the axis and spin ω, all rates in radians a second (Goldstein, Classical
/// Mechanics, section 5.7, from memory). So rate times speed is a constant of the body, m g l/(4π² I3) with both in turns a second.</summary>
/// <param name="ConstantPerS2">Precessions a second times turns a second, 1/s².</param>
/// <param name="UConstantPerS2">Its standard uncertainty.</param>
public sealed record RunWobble(double ConstantPerS2, double UConstantPerS2);

/// <summary>Where the air of a run is known from; environment.csv holds it.</summary>
/// <param name="Source">The sensors and their places on the bus, <c>by hand</c> for values entered by hand; with commas between.</param>
/// <param name="Readings">Rows of environment.csv.</param>
/// <param name="LeftOut">Looks during the run at which a sensor gave nothing that can be trusted.</param>
public sealed record RunAir(string Source, long Readings, long LeftOut);

/// <summary>A row of a plan.</summary>
/// <param name="Id">The plan's name.</param>
/// <param name="Row">The row's number, from 1.</param>
/// <param name="Block">Its block, from 1.</param>
public sealed record RunPlan(string Id, int Row, int Block)
{
    /// <summary>The speed from which the plan wants the run to be timed, turns a minute; null where it names none.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public double? FromRpm { get; init; }

    /// <summary>The speed down to which it does.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public double? ToRpm { get; init; }
}

/// <summary>The parts of the spin time's standard uncertainty, seconds.</summary>
/// <param name="ClockS">From the rate of the source's clock, over the whole spin.</param>
/// <param name="ReleaseS">From when the hand let go.</param>
/// <param name="StopS">From when the spin ended.</param>
public sealed record RunBudget(double ClockS, double ReleaseS, double StopS)
{
    /// <summary>All of them together: they have nothing to do with each other (JCGM 100:2008, 5.1.2).</summary>
    [JsonIgnore]
    public double TogetherS => Math.Sqrt((ClockS * ClockS) + (ReleaseS * ReleaseS) + (StopS * StopS));
}
