using Acquire.Acquisition;
using CsCheck;

namespace Acquire.Recording.Tests;

public sealed class JournalTests : IDisposable
{
    private static readonly Gen<Entry> AnyEntry =
        from kind in Gen.OneOf(JournalEntryKind.Bytes, JournalEntryKind.Asked, JournalEntryKind.LinkLost, JournalEntryKind.LinkBack, JournalEntryKind.Note)
        from hostNs in Gen.Long
        from payload in Gen.OneOf(Gen.Byte.Array[0, 40], Gen.Byte.Array[0, 3000])
        select new Entry(kind, hostNs, payload);

    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void Whatever_is_appended_is_read_back_in_order()
    {
        int number = 0;
        AnyEntry.Array[0, 60].ForEach(60, seed: 41, entries =>
        {
            string path = _folder.At($"{number++}.journal");
            List<Entry> read = Journals.Write(path, entries);
            Assert.Equal(JournalEntryKind.Start, read[0].Kind);
            Assert.Equal(entries, read.Skip(1));
        });
    }

    [Fact]
    public void Every_kind_of_entry_keeps_what_it_says()
    {
        string path = _folder.At("entries.journal");
        using (JournalWriter writer = JournalWriter.Create(path, Journals.Start, TimeProvider.System))
        {
            writer.TryAppend(1, new RunBegan(1, 12));
            writer.TryAppend(2, new RunEnded(1, EndReasons.Stopped, 90_000));
            writer.TryAppend(3, new RunPackaged(1, "20270314T092653Z-oak-rim"));
            writer.TryAppend(4, new UtcAnchor(new DateTimeOffset(2027, 3, 14, 10, 0, 0, TimeSpan.Zero), 4));
            writer.TryAppend(5, new ClockFitted(10, 20, 30.5, -1200.3, 0.8, 48, 2, 21));
            writer.TryAppend(6, new JournalNote("ä \"quoted\" note"));
            writer.TryAppend(7, new CaptureEnded("operator"));
            writer.TryAppend(8, new RunDismissed(2));
        }

        using var reader = new JournalReader(path);
        JournalStart start = Next(reader).Entry<JournalStart>();
        Assert.Equal(Journals.Start.Source, start.Source);
        Assert.Equal(Journals.Start.UtcAnchor, start.UtcAnchor);
        Assert.Equal(Journals.Start.Setup.Top, start.Setup.Top);
        Assert.Equal(80, start.Setup.Factors["dish_radius_mm"]);
        Assert.Equal("300", start.Settings["stopBelowRpm"]);
        Assert.Equal("tick=17", start.DecoderState);
        Assert.Equal(new RunBegan(1, 12), Next(reader).Entry<RunBegan>());
        Assert.Equal(new RunEnded(1, "stopped", 90_000), Next(reader).Entry<RunEnded>());
        Assert.Equal(new RunPackaged(1, "20270314T092653Z-oak-rim"), Next(reader).Entry<RunPackaged>());
        Assert.Equal(4, Next(reader).Entry<UtcAnchor>().HostNs);
        Assert.Equal(new ClockFitted(10, 20, 30.5, -1200.3, 0.8, 48, 2, 21), Next(reader).Entry<ClockFitted>());
        Assert.Equal(new JournalNote("ä \"quoted\" note"), Next(reader).Entry<JournalNote>());
        Assert.Equal(new CaptureEnded("operator"), Next(reader).Entry<CaptureEnded>());
        Assert.Equal(new RunDismissed(2), Next(reader).Entry<RunDismissed>());
        Assert.False(reader.TryRead(out _));
        Assert.Equal(0, reader.TornTailBytes);
    }

    [Fact]
    public void An_entry_that_is_not_what_its_kind_says_names_file_and_byte()
    {
        string path = _folder.At("wrong.journal");
        Journals.Write(path, [new Entry(JournalEntryKind.RunBegan, 1, "{\"runNumber\":\"one\"}"u8.ToArray())]);
        using var reader = new JournalReader(path);
        Next(reader);
        JournalRecord record = Next(reader);
        RunFormatException? thrown = null;
        try
        {
            record.Entry<RunBegan>();
        }
        catch (RunFormatException e)
        {
            thrown = e;
        }

        Assert.NotNull(thrown);
        Assert.Equal(path, thrown.File);
        Assert.Equal($"byte {record.Position}", thrown.Place);
    }

    [Fact]
    public void Block_kinds_keep_the_numbers_of_the_source()
    {
        foreach (SourceBlockKind kind in Enum.GetValues<SourceBlockKind>())
            Assert.Equal(kind.ToString(), ((JournalEntryKind)kind).ToString());
    }

    [Fact]
    public void A_block_comes_back_as_the_block_it_was()
    {
        string path = _folder.At("block.journal");
        using (JournalWriter writer = JournalWriter.Create(path, Journals.Start, TimeProvider.System))
            writer.TryAppend(new SourceBlock(SourceBlockKind.LinkLost, 77, "unplugged"u8));
        using var reader = new JournalReader(path);
        Assert.False(Next(reader).IsBlock);
        JournalRecord record = Next(reader);
        Assert.True(record.IsBlock);
        Assert.Equal(SourceBlockKind.LinkLost, record.Block.Kind);
        Assert.Equal(77, record.Block.HostNs);
        Assert.True(record.Block.Payload.SequenceEqual("unplugged"u8));
    }

    [Fact]
    public void A_journal_is_read_while_it_is_being_written()
    {
        string path = _folder.At("live.journal");
        const int Blocks = 200_000;
        using JournalWriter writer = JournalWriter.Create(path, Journals.Start, TimeProvider.System);
        var appending = new Thread(() =>
        {
            for (int i = 0; i < Blocks; i++)
                writer.TryAppend(JournalEntryKind.Bytes, i, BitConverter.GetBytes(i));
            writer.Flush(Journals.Long);
        });
        appending.Start();
        using var reader = new JournalReader(path);
        int next = 0;
        while (next < Blocks)
        {
            bool last = !appending.IsAlive;
            while (reader.TryRead(out JournalRecord record))
            {
                if (!record.IsBlock)
                    continue;
                Assert.Equal(next, BitConverter.ToInt32(record.Payload));
                next++;
            }

            Assert.False(last && next < Blocks, $"only {next} of {Blocks} blocks came");
        }

        Assert.Empty(reader.Damage);
    }

    [Fact]
    public void A_payload_of_the_greatest_length_fits_and_a_longer_one_is_the_callers_bug()
    {
        string path = _folder.At("long.journal");
        var longest = new byte[JournalWriter.MaxPayloadBytes];
        Random.Shared.NextBytes(longest);
        List<Entry> read = Journals.Write(path, [new Entry(JournalEntryKind.Bytes, 1, longest), new Entry(JournalEntryKind.Bytes, 2, longest)]);
        Assert.Equal(3, read.Count);
        Assert.Equal(longest, read[2].Payload);
        using JournalWriter writer = JournalWriter.Reopen(path);
        Assert.Throws<ArgumentOutOfRangeException>(() => writer.TryAppend(JournalEntryKind.Bytes, 3, new byte[longest.Length + 1]));
    }

    [Fact]
    public void A_journal_that_exists_is_never_begun_again()
    {
        string path = _folder.At("once.journal");
        Journals.Write(path, []);
        Assert.Throws<IOException>(() => JournalWriter.Create(path, Journals.Start, TimeProvider.System));
    }

    [Fact]
    public void A_file_that_is_no_journal_and_one_of_a_later_version_are_refused_with_what_was_found()
    {
        string text = _folder.At("text.journal");
        File.WriteAllText(text, "time_s,ticks,kind,mark,turns,width_s\n0.0,1,mark,0,0,\n");
        RunFormatException thrown = Assert.Throws<RunFormatException>(() => Journals.Read(text));
        Assert.Equal("byte 0", thrown.Place);

        string later = _folder.At("later.journal");
        byte[] header = JournalFormat.FileHeader();
        header[8] = 2;
        System.Buffers.Binary.BinaryPrimitives.WriteUInt32LittleEndian(header.AsSpan(12), System.IO.Hashing.Crc32.HashToUInt32(header.AsSpan(0, 12)));
        File.WriteAllBytes(later, header);
        thrown = Assert.Throws<RunFormatException>(() => Journals.Read(later));
        Assert.Contains("version 2", thrown.Found, StringComparison.Ordinal);
    }

    [Fact]
    public void The_check_is_the_CRC_32_of_IEEE_802_3()
    {
        // Check value of CRC-32/ISO-HDLC for "123456789", as every catalogue of CRCs gives it.
        Assert.Equal(0xCBF43926u, System.IO.Hashing.Crc32.HashToUInt32("123456789"u8));
    }

    private static JournalRecord Next(JournalReader reader)
    {
        Assert.True(reader.TryRead(out JournalRecord record));
        return record;
    }
}
