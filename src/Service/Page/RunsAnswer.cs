using System.IO.Compression;
using System.Security.Cryptography;
using System.Text.Encodings.Web;
using System.Text.Json;
using Acquire.Recording;
using Acquire.Service.Commands;
using Microsoft.AspNetCore.Http;
using Microsoft.Net.Http.Headers;
using HttpResults = Microsoft.AspNetCore.Http.Results;

namespace Acquire.Service.Page;

/// <summary>The list of all runs as it goes out, made once for each version and kept packed.</summary>
internal sealed class RunsAnswer(string library)
{
    private static readonly JsonWriterOptions Look = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };
    private readonly string _era = Convert.ToHexString(RandomNumberGenerator.GetBytes(4));
    private readonly Lock _making = new();
    private (long Version, byte[] Packed) _made;

    /// <summary>Answers a request.</summary>
    public IResult Of(RunList list, HttpContext context)
    {
        byte[] packed = Packed(list);
        var tag = new EntityTagHeaderValue($"\"{_era}-{list.Version}\"");
        context.Response.Headers.Vary = HeaderNames.AcceptEncoding;
        context.Response.Headers.CacheControl = "private, no-cache";
        if (!TakesGzip(context.Request)) return HttpResults.Bytes(Unpacked(packed), "application/json; charset=utf-8", entityTag: tag);
        context.Response.Headers.ContentEncoding = "gzip";
        return HttpResults.Bytes(packed, "application/json; charset=utf-8", entityTag: tag);
    }

    /// <summary>The document.</summary>
    public static void Write(Utf8JsonWriter writer, RunList list, string library)
    {
        writer.WriteStartObject();
        writer.WriteString("library", library);
        writer.WriteNumber("version", list.Version);
        writer.WriteBoolean("indexing", !list.IsWhole);
        writer.WriteStartArray("runs");
        foreach (IndexedRun run in list.Runs.Where(r => r.Descriptor is not null)) Write(writer, run, run.Descriptor!);
        writer.WriteEndArray();
        writer.WriteStartArray("unreadable");
        foreach (IndexedRun run in list.Runs.Where(r => r.Descriptor is null))
        {
            writer.WriteStartObject();
            writer.WriteString("run", run.Name);
            writer.WriteString("why", run.Problem);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter writer, IndexedRun run, RunDescriptor descriptor)
    {
        writer.WriteStartObject();
        RunsJson.WriteMembers(writer, run.Name, descriptor);
        writer.WriteString("operator", descriptor.Setup.Operator);
        writer.WriteString("note", descriptor.Setup.Note);
        writer.WriteNumber("uSpinTimeS", descriptor.Result.USpinTimeS, orNull: true);
        writer.WriteNumber("uPeakRpm", descriptor.Result.UPeakRpm, orNull: true);
        writer.WriteNumber("lastRpm", descriptor.Result.LastRpm, orNull: true);
        writer.WriteString("spoilt", descriptor.Spoilt);
        writer.WriteBoolean("edited", descriptor.Edits is { Count: > 0 });
        writer.WriteNumber("bytes", run.Files.Values.Sum(b => b ?? 0));
        writer.WriteStartArray("curve");
        foreach (int? rpm in run.Curve)
        {
            if (rpm is { } known) writer.WriteNumberValue(known);
            else writer.WriteNullValue();
        }

        writer.WriteEndArray();
        writer.WriteEndObject();
    }

    private static bool TakesGzip(HttpRequest request) =>
        request.GetTypedHeaders().AcceptEncoding.Any(e => e.Value.Equals("gzip", StringComparison.OrdinalIgnoreCase) && e.Quality is not 0);

    private byte[] Packed(RunList list)
    {
        lock (_making)
        {
            if (_made.Version == list.Version) return _made.Packed;
            using var packed = new MemoryStream();
            using (var gzip = new GZipStream(packed, CompressionLevel.Fastest))
            {
                using var writer = new Utf8JsonWriter(gzip, Look);
                Write(writer, list, library);
            }

            _made = (list.Version, packed.ToArray());
            return _made.Packed;
        }
    }

    private static byte[] Unpacked(byte[] packed)
    {
        using var gzip = new GZipStream(new MemoryStream(packed), CompressionMode.Decompress);
        using var plain = new MemoryStream();
        gzip.CopyTo(plain);
        return plain.ToArray();
    }
}
