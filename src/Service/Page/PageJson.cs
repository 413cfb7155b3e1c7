using System.Globalization;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace Acquire.Service.Page;

/// <summary>How the page's documents are written and read: camelCase, moments as UTC to the millisecond, numbers that are none as null.</summary>
internal static class PageJson
{
    /// <summary>The options.</summary>
    public static readonly JsonSerializerOptions Options = Put(new JsonSerializerOptions(JsonSerializerDefaults.Web));

    /// <summary>Puts them into options that a host makes.</summary>
    public static JsonSerializerOptions Put(JsonSerializerOptions options)
    {
        options.Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping; // never within HTML
        options.NumberHandling = JsonNumberHandling.Strict;
        options.UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow; // a misspelt member is told, not passed over
        options.AllowDuplicateProperties = false;
        options.MaxDepth = 16;
        options.Converters.Add(new UtcMoment());
        options.Converters.Add(new NumberOrNull());
        return options;
    }

    private sealed class UtcMoment : JsonConverter<DateTimeOffset>
    {
        public override DateTimeOffset Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) => reader.GetDateTimeOffset();

        public override void Write(Utf8JsonWriter writer, DateTimeOffset value, JsonSerializerOptions options) =>
            writer.WriteStringValue(value.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture));
    }

    private sealed class NumberOrNull : JsonConverter<double>
    {
        public override double Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) => reader.GetDouble();

        public override void Write(Utf8JsonWriter writer, double value, JsonSerializerOptions options)
        {
            if (double.IsFinite(value)) writer.WriteNumberValue(value);
            else writer.WriteNullValue();
        }
    }
}
