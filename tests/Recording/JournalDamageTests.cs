using CsCheck;

namespace Acquire.Recording.Tests;

public sealed class JournalDamageTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void Cut_at_any_byte_a_journal_gives_every_whole_record_and_the_length_of_the_torn_tail()
    {
        (byte[] bytes, List<Entry> all) = Sample();
        string path = _folder.At("cut.journal");
        for (int length = 0; length < bytes.Length; length++)
        {
            File.WriteAllBytes(path, bytes[..length]);
            Reading reading = Journals.Read(path);
            List<Entry> whole = WholeWithin(all, length, out long end);
            Assert.Equal(whole, reading.Entries);
            Assert.Equal(length - end, reading.TornTailBytes);
            Assert.Empty(reading.Damage);
        }
    }

    [Fact]
    public void After_a_torn_tail_a_journal_is_appended_to_and_the_tail_is_counted()
    {
        (byte[] bytes, List<Entry> all) = Sample();
        Entry added = Journals.Block(99, 1, 2, 3);
        long lastBegins = bytes.Length - all[^1].Bytes;
        for (long length = lastBegins; length < bytes.Length; length++)
        {
            string path = _folder.At($"{length}.journal");
            File.WriteAllBytes(path, bytes[..(int)length]);
            using (JournalWriter writer = JournalWriter.Reopen(path))
                Assert.True(writer.TryAppend(added.Kind, added.HostNs, added.Payload));
            Reading reading = Journals.Read(path);
            Assert.Equal([.. all.SkipLast(1), added], reading.Entries);
            Assert.Equal(length - lastBegins, reading.BytesSkipped);
            Assert.Equal(0, reading.TornTailBytes);
        }
    }

    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    [InlineData(15)]
    public void A_journal_cut_within_its_header_can_be_appended_to(int length)
    {
        string path = _folder.At("header.journal");
        File.WriteAllBytes(path, JournalFormat.FileHeader()[..length]);
        Entry added = Journals.Block(99, 1, 2, 3);
        using (JournalWriter writer = JournalWriter.Reopen(path))
            writer.TryAppend(added.Kind, added.HostNs, added.Payload);
        Assert.Equal([added], Journals.Read(path).Entries);
    }

    [Fact]
    public void Any_flipped_bit_is_passed_over_or_reported_and_never_gives_wrong_data()
    {
        (byte[] bytes, List<Entry> all) = Sample();
        string path = _folder.At("flipped.journal");
        for (int bit = 0; bit < bytes.Length * 8; bit++)
        {
            bytes[bit / 8] ^= (byte)(1 << (bit % 8));
            File.WriteAllBytes(path, bytes);
            bytes[bit / 8] ^= (byte)(1 << (bit % 8));
            Reading reading = Journals.Read(path);
            // One record at most is lost; where the header of the file is hit, none.
            Assert.Equal(bit / 8 < 16 ? all.Count : all.Count - 1, reading.Entries.Count);
            AssertInOrder(reading.Entries, all);
            Assert.True(reading.BytesSkipped + reading.TornTailBytes > 0, $"bit {bit} was not reported");
        }
    }

    [Fact]
    public void Holes_zeros_and_spliced_pieces_never_give_wrong_data()
    {
        (byte[] bytes, List<Entry> all) = Sample();
        var damages =
            from at in Gen.Int[16, bytes.Length - 1]
            from length in Gen.Int[1, 200]
            from filling in Gen.OneOf(Gen.Const(Array.Empty<byte>()), Gen.Const(new byte[4096]), Gen.Byte.Array[1, 300])
            select (at, length, filling);
        string path = _folder.At("spliced.journal");
        damages.ForEach(2000, seed: 42, damage =>
        {
            byte[] after = bytes[Math.Min(bytes.Length, damage.at + damage.length)..];
            byte[] damaged = [.. bytes[..damage.at], .. damage.filling, .. after];
            File.WriteAllBytes(path, damaged);
            Reading reading = Journals.Read(path);
            AssertInOrder(reading.Entries, all);
            long given = 16 + reading.Entries.Sum(entry => entry.Bytes);
            Assert.Equal(damaged.Length, given + reading.BytesSkipped + reading.TornTailBytes);
        });
    }

    [Fact]
    public void A_damaged_stretch_longer_than_the_readers_memory_is_passed_over()
    {
        (byte[] bytes, List<Entry> all) = Sample();
        string path = _folder.At("hole.journal");
        long firstEnd = 16 + all[0].Bytes;
        using (FileStream file = File.Create(path))
        {
            file.Write(bytes.AsSpan(0, (int)firstEnd));
            file.Write(new byte[9_000_000]);
            file.Write(bytes.AsSpan((int)firstEnd));
        }

        Reading reading = Journals.Read(path);
        Assert.Equal(all, reading.Entries);
        Assert.Equal([new JournalDamage(firstEnd, 9_000_000)], reading.Damage);
    }

    [Fact]
    public void Every_byte_is_given_out_skipped_or_torn()
    {
        (byte[] bytes, List<Entry> all) = Sample();
        string path = _folder.At("whole.journal");
        File.WriteAllBytes(path, bytes);
        Reading reading = Journals.Read(path);
        Assert.Equal(all, reading.Entries);
        Assert.Equal(bytes.Length, 16 + all.Sum(entry => entry.Bytes));
    }

    private static List<Entry> WholeWithin(List<Entry> all, long length, out long end)
    {
        var whole = new List<Entry>();
        end = length < 16 ? 0 : 16;
        foreach (Entry entry in all)
        {
            if (end == 0 || end + entry.Bytes > length)
                break;
            end += entry.Bytes;
            whole.Add(entry);
        }

        return whole;
    }

    private static void AssertInOrder(List<Entry> found, List<Entry> all)
    {
        int from = 0;
        foreach (Entry entry in found)
        {
            int at = all.IndexOf(entry, from);
            Assert.True(at >= 0, $"a record of kind {entry.Kind} at {entry.HostNs} ns was never written there");
            from = at + 1;
        }
    }

    private (byte[] Bytes, List<Entry> All) Sample()
    {
        string path = _folder.At("sample.journal");
        List<Entry> all = Journals.Write(
            path,
            [
                Journals.Block(10, [.. Enumerable.Range(0, 48).Select(i => (byte)i)]),
                new Entry(JournalEntryKind.LinkLost, 20, "gone"u8.ToArray()),
                Journals.Block(30),
                Journals.Block(40, 0, 0, 0, 0, 0, 0, 0, 0),
                Journals.Block(50, [.. Enumerable.Range(0, 31).Select(i => (byte)(255 - i))]),
            ]);
        return (File.ReadAllBytes(path), all);
    }
}
