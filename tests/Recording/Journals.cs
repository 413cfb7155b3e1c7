using Acquire.Acquisition;

namespace Acquire.Recording.Tests;

internal sealed record Entry(JournalEntryKind Kind, long HostNs, byte[] Payload)
{
    public long Bytes => 17 + Payload.Length;

    public bool Equals(Entry? other) => other is not null && Kind == other.Kind && HostNs == other.HostNs && Payload.AsSpan().SequenceEqual(other.Payload);

    public override int GetHashCode() => HashCode.Combine(Kind, HostNs, Payload.Length);
}

internal sealed record Reading(List<Entry> Entries, long TornTailBytes, IReadOnlyList<JournalDamage> Damage, long BytesSkipped);

internal static class Journals
{
    public static readonly TimeSpan Long = TimeSpan.FromSeconds(30);

    public static JournalStart Start { get; } = new(
        "acquire 0.1.0",
        new UtcAnchor(new DateTimeOffset(2027, 3, 14, 9, 26, 53, TimeSpan.Zero), 5_000_000_000),
        new JournalSource("serial", "/dev/ttyUSB0", "pulse-lines", 2_000_000, 2),
        new RunSetup { Top = "Eichenkreisel ø80", Factors = new Dictionary<string, double> { ["dish_radius_mm"] = 80 } },
        new Dictionary<string, string> { ["stopBelowRpm"] = "300" },
        "tick=17");

    /// <summary>Writes a journal with these entries behind its start and returns all that is in it.</summary>
    public static List<Entry> Write(string path, IEnumerable<Entry> entries)
    {
        using (JournalWriter writer = JournalWriter.Create(path, Start, TimeProvider.System))
        {
            foreach (Entry entry in entries)
                Assert.True(writer.TryAppend(entry.Kind, entry.HostNs, entry.Payload));
            Assert.True(writer.Flush(Long));
        }

        return Read(path).Entries;
    }

    public static Reading Read(string path)
    {
        using var reader = new JournalReader(path);
        return Read(reader);
    }

    public static Reading Read(JournalReader reader)
    {
        var entries = new List<Entry>();
        while (reader.TryRead(out JournalRecord record))
            entries.Add(new Entry(record.Kind, record.HostNs, record.Payload.ToArray()));
        return new Reading(entries, reader.TornTailBytes, [.. reader.Damage], reader.BytesSkipped);
    }

    public static Entry Block(long hostNs, params byte[] payload) => new((JournalEntryKind)SourceBlockKind.Bytes, hostNs, payload);
}
