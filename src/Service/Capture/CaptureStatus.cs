using System.Globalization;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;
using Acquire.Service.Forecasting;

namespace Acquire.Service.Capture;

/// <summary>What a capture says of itself to whoever asks; the document that <c>acquire status --json</c> prints. Numbers that are not known are
/// null; units are in the names, and ages are of the source's own seconds.</summary>
internal sealed record CaptureStatus
{
    /// <summary>True where a capture answered.</summary>
    public required bool Running { get; init; }

    /// <summary>True where it answered and nothing is wrong.</summary>
    public required bool Well { get; init; }

    /// <summary>What is wrong, for people.</summary>
    public required IReadOnlyList<string> Problems { get; init; }

    /// <summary>The library that was asked about.</summary>
    public required string Library { get; init; }

    /// <summary>The capture; null where none answered.</summary>
    public CaptureFacts? Capture { get; init; }
}

/// <summary>What goes on in a capture.</summary>
internal sealed record CaptureFacts
{
    public required string Software { get; init; }

    public required int ProcessId { get; init; }

    public required DateTimeOffset StartedAt { get; init; }

    /// <summary><c>waiting</c>, <c>launching</c>, <c>spinning</c>, <c>lost</c> or <c>ended</c>.</summary>
    public required string Phase { get; init; }

    public required DateTimeOffset PhaseSince { get; init; }

    public double? Rpm { get; init; }

    public double? URpm { get; init; }

    public double? SinceReleaseS { get; init; }

    public double? PeakRpm { get; init; }

    /// <summary>When the spin under way will end.</summary>
    public LiveForecast? Forecast { get; init; }

    public double? LastPulseAgoS { get; init; }

    public double? LastHeardAgoS { get; init; }

    public required string Source { get; init; }

    public required bool LinkUp { get; init; }

    public required CaptureLosses Losses { get; init; }

    public required int FinishedRuns { get; init; }

    public string? LastRun { get; init; }

    /// <summary>Which row of a plan is under way or next, for people; null where none is followed.</summary>
    public string? Plan { get; init; }

    /// <summary>The sensors of the air; empty where none was named.</summary>
    public IReadOnlyList<AirFacts> Air { get; init; } = [];

    public required long JournalBytes { get; init; }

    public long? FreeBytes { get; init; }

    public required RecoveryFacts Recovery { get; init; }

    public LoggedError? LastError { get; init; }

    public required IReadOnlyList<ThreadLife> Threads { get; init; }
}

/// <summary>What was lost since the capture began; <see cref="MissedMarks"/> of the run under way.</summary>
internal sealed record CaptureLosses(long MissedMarks, long BadLines, long LostOnLine, long DroppedByBoard, long BytesWithoutRoom)
{
    /// <summary>Takes them from a state.</summary>
    public static CaptureLosses Of(LiveState live) =>
        new(live.Missed, live.Counts.BadLines, live.Counts.LostOnLine, live.Counts.DroppedByBoard, live.Counts.BytesLost);
}

/// <summary>A sensor of the air: what it says now, when it last said anything, and at how many looks it gave nothing that can be trusted.</summary>
internal sealed record AirFacts(string Sensor, double? TemperatureC, double? PressureHpa, double? HumidityPct, double? ReadAgoS, long LeftOut, string? Problem);

/// <summary>How the recovery of earlier captures stands.</summary>
/// <param name="State"><c>underWay</c>, <c>done</c> or <c>failed</c>.</param>
/// <param name="Runs">Runs that it made.</param>
/// <param name="Problems">What could not be made into a run.</param>
internal sealed record RecoveryFacts(string State, int Runs, IReadOnlyList<string> Problems);

/// <summary>The last warning or error of the log.</summary>
internal sealed record LoggedError(DateTimeOffset At, string Level, string Text);

/// <summary>JSON of the status.</summary>
[JsonSerializable(typeof(CaptureStatus))]
internal sealed partial class StatusJson : JsonSerializerContext
{
    private static readonly StatusJson Instance = new(new JsonSerializerOptions
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        RespectNullableAnnotations = true,
        WriteIndented = true,
        NewLine = "\n",
        Converters = { new UtcMoment() },
    });

    /// <summary>How a status is written and read.</summary>
    public static JsonTypeInfo<CaptureStatus> Status => (JsonTypeInfo<CaptureStatus>)Instance.GetTypeInfo(typeof(CaptureStatus))!;

    private sealed class UtcMoment : JsonConverter<DateTimeOffset>
    {
        public override DateTimeOffset Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) => reader.GetDateTimeOffset();

        public override void Write(Utf8JsonWriter writer, DateTimeOffset value, JsonSerializerOptions options) =>
            writer.WriteStringValue(value.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture));
    }
}
