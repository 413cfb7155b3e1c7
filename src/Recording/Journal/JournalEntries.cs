using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;

namespace Acquire.Recording;

/// <summary>Wall-clock time at one moment of the host's monotonic clock.</summary>
/// <param name="Utc">Wall-clock time.</param>
/// <param name="HostNs">The same moment, nanoseconds of the host's monotonic clock.</param>
/// <param name="HostClock">What the system said of its clock then: <c>synchronised</c>, <c>unsynchronised</c> or <c>unknown</c>; empty in a start
/// entry, whose settings say it.</param>
public sealed record UtcAnchor(DateTimeOffset Utc, long HostNs, string HostClock = "");

/// <summary>The source of a capture, as configured.</summary>
/// <param name="Kind"><c>serial</c>, <c>gpio</c> or <c>simulation</c>.</param>
/// <param name="Detail">Port, line or scenario.</param>
/// <param name="Format">What the bytes mean, so that the right decoder reads them again.</param>
/// <param name="TickHz">Nominal ticks a second of the source's counter.</param>
/// <param name="Marks">Marks on the body, 1 or more.</param>
public sealed record JournalSource(string Kind, string Detail, string Format, double TickHz, int Marks);

/// <summary>What is known before the first pulse; written once, never changed.</summary>
/// <param name="Software">Program and version.</param>
/// <param name="UtcAnchor">Wall-clock time when the journal was begun.</param>
/// <param name="Source">Where the bytes come from.</param>
/// <param name="Setup">Top, base, cover, factors.</param>
/// <param name="Settings">Every other setting that decides how the bytes are judged, by name.</param>
/// <param name="DecoderState">State of the decoder where this journal goes on from another; else empty.</param>
/// <param name="AirByHand">The air as entered by hand; null where it was not.</param>
public sealed record JournalStart(
    string Software,
    UtcAnchor UtcAnchor,
    JournalSource Source,
    RunSetup Setup,
    IReadOnlyDictionary<string, string> Settings,
    string DecoderState = "",
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] AirLooked? AirByHand = null);

/// <summary>A run began.</summary>
/// <param name="RunNumber">Number of the run in this journal, from 1.</param>
/// <param name="FirstPulse">Ordinal of its first pulse among the pulses of this journal, from 0.</param>
/// <param name="Setup">Its set-up, where it is another than the start entry's; else null.</param>
/// <param name="Plan">The row of a plan that it was begun for; null where it follows none.</param>
public sealed record RunBegan(
    int RunNumber,
    long FirstPulse,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] RunSetup? Setup = null,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] RunPlan? Plan = null);

/// <summary>A run ended.</summary>
/// <param name="RunNumber">Number of the run in this journal, from 1.</param>
/// <param name="Reason">One of <see cref="EndReasons"/>.</param>
/// <param name="LastPulse">Ordinal of its last pulse among the pulses of this journal, from 0.</param>
public sealed record RunEnded(int RunNumber, string Reason, long LastPulse);

/// <summary>A run is in the library for good.</summary>
/// <param name="RunNumber">Number of the run in this journal, from 1.</param>
/// <param name="Folder">Name of its folder in the library.</param>
public sealed record RunPackaged(int RunNumber, string Folder);

/// <summary>A run that began came to nothing: too few turns.</summary>
/// <param name="RunNumber">Number of the run in this journal, from 1.</param>
public sealed record RunDismissed(int RunNumber);

/// <summary>One fit of the source's clock to the host's.</summary>
/// <param name="AtTicks">The source's counter at the moment for which the offset holds.</param>
/// <param name="AtHostNs">The host's monotonic clock at that moment, nanoseconds.</param>
/// <param name="UOffsetNs">Standard uncertainty of that offset, nanoseconds.</param>
/// <param name="RatePpm">How much the source runs fast (positive), parts in a million.</param>
/// <param name="URatePpm">Its standard uncertainty.</param>
/// <param name="Samples">Samples in the fit.</param>
/// <param name="WindowStartTicks">The source's counter at the oldest sample.</param>
/// <param name="SignRuns">Runs of equal sign among the residuals.</param>
public sealed record ClockFitted(
    long AtTicks, long AtHostNs, double UOffsetNs, double RatePpm, double URatePpm, int Samples, long WindowStartTicks, int SignRuns);

/// <summary>Anything worth keeping.</summary>
/// <param name="Text">For people.</param>
/// <param name="BytesLost">Payload bytes that the journal could not take up since the last such note; 0 for any other note.</param>
/// <param name="Event">The event of a run under way that this is; empty where it is none.</param>
public sealed record JournalNote(string Text, long BytesLost = 0, string Event = "");

/// <summary>A capture that was cut short goes on in the same journal.</summary>
/// <param name="LastHostNs">The host's monotonic clock at the last record before the interruption.</param>
/// <param name="TornBytes">Bytes of a record cut short that were taken off the end.</param>
public sealed record CaptureResumed(long LastHostNs, long TornBytes);

/// <summary>A look at a sensor of the air, or what was entered by hand. A number is NaN where the sensor has none, or gave nonsense; all are where it gave
/// nothing that can be trusted.</summary>
/// <param name="Sensor">The sensor, such as <c>bme280@1:0x76</c>; <see cref="ByHand"/> for values entered by hand.</param>
/// <param name="TemperatureC">Temperature, °C.</param>
/// <param name="PressureHPa">Absolute pressure, hPa.</param>
/// <param name="HumidityPct">Relative humidity, percent.</param>
public sealed record AirLooked(string Sensor, double TemperatureC, double PressureHPa, double HumidityPct)
{
    /// <summary>The word for values entered by hand.</summary>
    public const string ByHand = "by hand";

    /// <summary>True where nothing is known.</summary>
    [JsonIgnore]
    public bool IsEmpty => double.IsNaN(TemperatureC) && double.IsNaN(PressureHPa) && double.IsNaN(HumidityPct);
}

/// <summary>The capture was ended in order; a journal without it was cut short.</summary>
/// <param name="Reason">For people.</param>
public sealed record CaptureEnded(string Reason);

/// <summary>JSON of the journal's entries.</summary>
[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase)]
[JsonSerializable(typeof(JournalStart))]
[JsonSerializable(typeof(RunBegan))]
[JsonSerializable(typeof(RunEnded))]
[JsonSerializable(typeof(RunPackaged))]
[JsonSerializable(typeof(RunDismissed))]
[JsonSerializable(typeof(UtcAnchor))]
[JsonSerializable(typeof(ClockFitted))]
[JsonSerializable(typeof(JournalNote))]
[JsonSerializable(typeof(CaptureResumed))]
[JsonSerializable(typeof(AirLooked))]
[JsonSerializable(typeof(CaptureEnded))]
internal sealed partial class JournalJson : JsonSerializerContext
{
    private static readonly JournalJson Entries = new(new JsonSerializerOptions
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        RespectNullableAnnotations = true,
        RespectRequiredConstructorParameters = false,
        Converters = { new NullAsNaN() },
    });

    public static JsonTypeInfo<T> Of<T>() => Entries.GetTypeInfo(typeof(T)) as JsonTypeInfo<T>
        ?? throw new ArgumentException($"{typeof(T).Name} is no entry of a journal.");
}
