using System.Buffers;
using System.Globalization;
using System.Text.Encodings.Web;
using System.Text.Json;

namespace Acquire.Recording;

/// <summary>Writes a run's datapackage.json after the Data Package standard, version 2 (datapackage.org/standard).</summary>
internal static class DataPackageText
{
    private const string Profiles = "https://datapackage.org/profiles/2.0/";

    public static byte[] Make(string folderName, RunDescriptor run, IReadOnlyList<(RunTable Table, WrittenFile File)> files, DateTimeOffset created)
    {
        var buffer = new ArrayBufferWriter<byte>();
        var options = new JsonWriterOptions { Indented = true, NewLine = "\n", Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };
        using (var json = new Utf8JsonWriter(buffer, options))
        {
            json.WriteStartObject();
            json.WriteString("$schema", Profiles + "datapackage.json");
            json.WriteString("name", folderName.ToLowerInvariant());
            json.WriteString("id", Identifier(files[0].File.Hash));
            json.WriteString("created", UtcToTheMillisecond.Text(created));
            json.WriteString("title", Title(run));
            json.WriteString("description", "One run of a spinning body, timed by an optical sensor. Set-up, counts and result are in the object acquire.");
            json.WriteStartArray("resources");
            foreach ((RunTable table, WrittenFile file) in files)
                Resource(json, table, file);
            json.WriteEndArray();
            json.WritePropertyName("acquire");
            JsonSerializer.Serialize(json, run, RunJson.Run);
            json.WriteEndObject();
        }

        buffer.Write("\n"u8);
        return buffer.WrittenSpan.ToArray();
    }

    /// <summary>The title of a run's package.</summary>
    public static string Title(RunDescriptor run)
    {
        string started = run.StartedAt.UtcDateTime.ToString("yyyy-MM-dd HH:mm:ss 'UTC'", CultureInfo.InvariantCulture);
        return $"{(run.Setup.Top.Length > 0 ? run.Setup.Top : "Run")}, {started}";
    }

    /// <summary>A UUID of version 8 (RFC 9562) made from the hash of the pulses: the same pulses always have the same identifier.</summary>
    private static string Identifier(string hash)
    {
        byte[] bytes = Convert.FromHexString(hash.AsSpan(hash.IndexOf(':') + 1, 32));
        bytes[6] = (byte)((bytes[6] & 0x0F) | 0x80);
        bytes[8] = (byte)((bytes[8] & 0x3F) | 0x80);
        return "urn:uuid:" + new Guid(bytes, bigEndian: true);
    }

    private static void Resource(Utf8JsonWriter json, RunTable table, WrittenFile file)
    {
        json.WriteStartObject();
        json.WriteString("$schema", Profiles + "dataresource.json");
        json.WriteString("name", table.Name);
        json.WriteString("type", "table");
        json.WriteString("path", file.Name);
        json.WriteString("title", table.Title);
        json.WriteString("description", table.Description);
        json.WriteString("format", "csv");
        json.WriteString("mediatype", "text/csv");
        json.WriteString("encoding", "utf-8");
        json.WriteNumber("bytes", file.Bytes);
        json.WriteString("hash", file.Hash);
        json.WriteStartObject("dialect");
        json.WriteString("$schema", Profiles + "tabledialect.json");
        json.WriteBoolean("header", true);
        json.WriteString("delimiter", ",");
        json.WriteString("lineTerminator", "\n");
        json.WriteString("quoteChar", "\"");
        json.WriteBoolean("doubleQuote", true);
        json.WriteEndObject();
        json.WriteStartObject("schema");
        json.WriteString("$schema", Profiles + "tableschema.json");
        json.WriteStartArray("fields");
        foreach (RunColumn column in table.Columns)
            Field(json, column);
        json.WriteEndArray();
        json.WriteStartArray("missingValues");
        json.WriteStringValue("");
        json.WriteEndArray();
        json.WriteEndObject();
        json.WriteEndObject();
    }

    private static void Field(Utf8JsonWriter json, RunColumn column)
    {
        json.WriteStartObject();
        json.WriteString("name", column.Name);
        json.WriteString("type", column.Type);
        json.WriteString("description", column.Description);
        if (column.Unit.Length > 0)
            json.WriteString("unit", column.Unit);
        if (column.Required || column.Minimum is not null || column.Maximum is not null || column.Words is not null)
        {
            json.WriteStartObject("constraints");
            if (column.Required)
                json.WriteBoolean("required", true);
            if (column.Minimum is { } minimum)
                json.WriteNumber("minimum", minimum);
            if (column.Maximum is { } maximum)
                json.WriteNumber("maximum", maximum);
            if (column.Words is { } words)
            {
                json.WriteStartArray("enum");
                foreach (string word in words)
                    json.WriteStringValue(word);
                json.WriteEndArray();
            }

            json.WriteEndObject();
        }

        json.WriteEndObject();
    }
}
