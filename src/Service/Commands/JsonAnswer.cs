using System.Buffers;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;

namespace Acquire.Service.Commands;

/// <summary>Writes the one JSON document that <c>--json</c> asks for.</summary>
internal static class JsonAnswer
{
    private static readonly JsonWriterOptions Look = new() { Indented = true, Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping, NewLine = "\n" };

    /// <summary>Writes a document and a line end.</summary>
    public static void Write(TextWriter output, Action<Utf8JsonWriter> write)
    {
        var buffer = new ArrayBufferWriter<byte>();
        using (var writer = new Utf8JsonWriter(buffer, Look)) write(writer);
        output.Write(Encoding.UTF8.GetString(buffer.WrittenSpan));
        output.Write('\n');
        output.Flush();
    }

    /// <summary>Writes a number; null where there is none, since JSON knows no NaN.</summary>
    public static void WriteNumber(this Utf8JsonWriter writer, string name, double value, bool orNull)
    {
        if (orNull && !double.IsFinite(value)) writer.WriteNull(name);
        else writer.WriteNumber(name, value);
    }
}
