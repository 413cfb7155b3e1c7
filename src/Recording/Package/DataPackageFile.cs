using System.Globalization;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;

namespace Acquire.Recording;

/// <summary>What this program reads of a run's datapackage.json.</summary>
internal sealed record DataPackageFile
{
    public const string FileName = "datapackage.json";

    public required IReadOnlyList<DataPackageResource> Resources { get; init; }

    public required RunDescriptor Acquire { get; init; }
}

/// <summary>A resource of the descriptor.</summary>
internal sealed record DataPackageResource
{
    public required string Name { get; init; }

    public required string Path { get; init; }

    public long? Bytes { get; init; }

    public string? Hash { get; init; }

    public DataPackageSchema? Schema { get; init; }
}

/// <summary>The columns of a resource.</summary>
internal sealed record DataPackageSchema(IReadOnlyList<DataPackageField> Fields);

/// <summary>A column of a resource.</summary>
internal sealed record DataPackageField(string Name, string? Type);

/// <summary>JSON of a run's descriptor.</summary>
[JsonSerializable(typeof(DataPackageFile))]
[JsonSerializable(typeof(RunDescriptor))]
[JsonSerializable(typeof(RunEdit[]))]
[JsonSerializable(typeof(RunDeleted))]
internal sealed partial class RunJson : JsonSerializerContext
{
    private static readonly RunJson Instance = new(new JsonSerializerOptions
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        RespectNullableAnnotations = true,
        RespectRequiredConstructorParameters = true,
        WriteIndented = true,
        Converters = { new NullAsNaN(), new UtcToTheMillisecond() },
    });

    public static JsonTypeInfo<DataPackageFile> File => (JsonTypeInfo<DataPackageFile>)Instance.GetTypeInfo(typeof(DataPackageFile))!;

    public static JsonTypeInfo<RunEdit[]> Edits => (JsonTypeInfo<RunEdit[]>)Instance.GetTypeInfo(typeof(RunEdit[]))!;

    public static JsonTypeInfo<RunDeleted> Deleted => (JsonTypeInfo<RunDeleted>)Instance.GetTypeInfo(typeof(RunDeleted))!;

    public static JsonTypeInfo<RunDescriptor> Run => (JsonTypeInfo<RunDescriptor>)Instance.GetTypeInfo(typeof(RunDescriptor))!;
}

/// <summary>Moments as the format writes them: 2027-03-14T09:26:53.412Z.</summary>
internal sealed class UtcToTheMillisecond : JsonConverter<DateTimeOffset>
{
    public static string Text(DateTimeOffset value) => value.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture);

    public override DateTimeOffset Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
        reader.GetDateTimeOffset().ToUniversalTime();

    public override void Write(Utf8JsonWriter writer, DateTimeOffset value, JsonSerializerOptions options) => writer.WriteStringValue(Text(value));
}
