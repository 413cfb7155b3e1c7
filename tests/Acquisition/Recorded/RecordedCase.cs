using System.Globalization;
using System.Text;
using System.Text.Json;
using Acquire.Acquisition.Lines;

namespace Acquire.Acquisition.Tests.Recorded;

/// <summary>A recorded case: what the reads brought and when, and what is expected of it (README.md).</summary>
internal sealed class RecordedCase
{
    private static readonly string Folder = Path.Combine(AppContext.BaseDirectory, "Recorded", "Cases");
    private readonly JsonDocument _about;

    private RecordedCase(string folder)
    {
        _about = JsonDocument.Parse(File.ReadAllText(Path.Combine(folder, "case.json")));
        byte[] bytes = File.ReadAllBytes(Path.Combine(folder, "board.bytes"));
        int at = 0;
        foreach (string[] row in Rows(folder, "reads.csv", 3))
        {
            SourceBlockKind kind = KindOf(row[1]);
            int length = kind == SourceBlockKind.Bytes ? int.Parse(row[2], CultureInfo.InvariantCulture) : 0;
            byte[] payload = kind == SourceBlockKind.Bytes ? bytes[at..(at + length)] : Encoding.UTF8.GetBytes(row[2].Replace("\\n", "\n", StringComparison.Ordinal));
            at += length;
            Reads.Add(new ReadBlock(kind, long.Parse(row[0], CultureInfo.InvariantCulture), payload));
        }

        if (at != bytes.Length)
            throw new InvalidDataException($"{folder}: reads.csv holds {at} bytes, board.bytes {bytes.Length}.");
        foreach (string[] row in Rows(folder, "events.csv", 6))
        {
            long Number(int column) => long.Parse(row[column], CultureInfo.InvariantCulture);
            Events.Add(new SourceEvent(Enum.Parse<SourceEventKind>(row[0]), new Pulse(Number(1), (uint)Number(2), (short)Number(3)), Number(4), Number(5)));
        }
    }

    internal static IEnumerable<string> Names => Directory.GetDirectories(Folder).Select(folder => Path.GetFileName(folder)!).Order(StringComparer.Ordinal);

    /// <summary>The reads, and what happened between them.</summary>
    internal List<ReadBlock> Reads { get; } = [];

    /// <summary>The events expected.</summary>
    internal List<SourceEvent> Events { get; } = [];

    internal string Board => Expected.GetProperty("board").GetString()!;

    internal double TickHz => Expected.GetProperty("tickHz").GetDouble();

    internal SourceCounts Counts
    {
        get
        {
            JsonElement counts = Expected.GetProperty("counts");
            long Of(string name) => counts.GetProperty(name).GetInt64();
            return new SourceCounts(Of("received"), Of("badLines"), Of("lostOnLine"), Of("droppedByBoard"), Of("restarts"), 0);
        }
    }

    /// <summary>The clock fit expected; null for a case too short for one.</summary>
    internal JsonElement? Fit => Expected.TryGetProperty("fit", out JsonElement fit) ? fit : null;

    private JsonElement Expected => _about.RootElement.GetProperty("expected");

    internal static RecordedCase Read(string name) => new(Path.Combine(Folder, name));

    internal ISourceDecoder Decoder() => SourceFormats.CreateDecoder(
        _about.RootElement.GetProperty("format").GetString()!, _about.RootElement.GetProperty("tickHz").GetDouble());

    internal string About(string name) => _about.RootElement.GetProperty(name).ToString();

    /// <summary>The reads with their bytes cut further; what comes of a read keeps its time.</summary>
    /// <param name="lengths">The next length to cut at, at least 1.</param>
    internal IEnumerable<ReadBlock> Cut(Func<int> lengths)
    {
        foreach (ReadBlock read in Reads)
        {
            if (read.Kind != SourceBlockKind.Bytes)
            {
                yield return read;
                continue;
            }

            for (int from = 0; from < read.Payload.Length;)
            {
                int to = Math.Min(read.Payload.Length, from + lengths());
                yield return read with { Payload = read.Payload[from..to] };
                from = to;
            }
        }
    }

    /// <summary>All the bytes from one thing that happened to the link to the next as one block.</summary>
    internal IEnumerable<ReadBlock> Whole()
    {
        var bytes = new List<byte>();
        foreach (ReadBlock read in Reads)
        {
            if (read.Kind == SourceBlockKind.Bytes)
                bytes.AddRange(read.Payload);
            else if (read.Kind != SourceBlockKind.Asked)
            {
                yield return new ReadBlock(SourceBlockKind.Bytes, read.HostNs, [.. bytes]);
                yield return read;
                bytes.Clear();
            }
        }

        yield return new ReadBlock(SourceBlockKind.Bytes, Reads[^1].HostNs, [.. bytes]);
    }

    private static SourceBlockKind KindOf(string name) => name switch
    {
        "bytes" => SourceBlockKind.Bytes,
        "asked" => SourceBlockKind.Asked,
        "lost" => SourceBlockKind.LinkLost,
        "back" => SourceBlockKind.LinkBack,
        _ => throw new InvalidDataException($"'{name}' is no kind of read: bytes, asked, lost or back."),
    };

    private static IEnumerable<string[]> Rows(string folder, string file, int columns) =>
        File.ReadLines(Path.Combine(folder, file)).Skip(1).Select(line => line.Split(',', columns));
}
