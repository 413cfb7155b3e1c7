using System.Text.Json;
using System.Text.Json.Serialization;

namespace Acquire.Recording;

/// <summary>JSON has no word for a number that is not known: it is written as null and read back as NaN.</summary>
internal sealed class NullAsNaN : JsonConverter<double>
{
    public override bool HandleNull => true;

    public override double Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
        reader.TokenType == JsonTokenType.Null ? double.NaN : reader.GetDouble();

    public override void Write(Utf8JsonWriter writer, double value, JsonSerializerOptions options)
    {
        if (double.IsFinite(value))
            writer.WriteNumberValue(value);
        else
            writer.WriteNullValue();
    }
}
