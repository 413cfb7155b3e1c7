using System.Text;
using Acquire.Acquisition.Lines;
using CsCheck;
using Xunit;
using static Acquire.Acquisition.Tests.Lines.BoardWriter;

namespace Acquire.Acquisition.Tests.Lines;

/// <summary>The same bytes give the same events wherever the reads cut them; and what goes wrong in between is counted exactly.</summary>
public sealed class LineCuttingTests
{
    private const long Hz = 2_000_000;

    public static TheoryData<string> Formats => [.. SourceFormats.Names];

    [Theory]
    [MemberData(nameof(Formats))]
    public void One_block_and_a_block_a_byte_give_the_same(string format)
    {
        byte[] bytes = Encoding.ASCII.GetBytes(Sample(format));

        Assert.Equal(Decode(format, [bytes]), Decode(format, [.. bytes.Select(value => new[] { value })]));
    }

    [Theory]
    [MemberData(nameof(Formats))]
    public void A_cut_at_any_byte_changes_nothing(string format)
    {
        byte[] bytes = Encoding.ASCII.GetBytes(Sample(format));
        string whole = Decode(format, [bytes]);

        for (int cut = 1; cut < bytes.Length; cut++)
            Assert.Equal(whole, Decode(format, [bytes[..cut], bytes[cut..]]));
    }

    [Theory]
    [MemberData(nameof(Formats))]
    public void Cuts_at_random_places_change_nothing(string format)
    {
        byte[] bytes = Encoding.ASCII.GetBytes(Sample(format));
        string whole = Decode(format, [bytes]);

        Repeated.Try(Gen.Int[1, 90].Array[1, 200], seed: 1, times: 300, lengths => Decode(format, Cut(bytes, lengths)) == whole);
    }

    [Theory]
    [MemberData(nameof(Formats))]
    public void A_decoder_restored_at_any_cut_goes_on_the_same(string format)
    {
        byte[] bytes = Encoding.ASCII.GetBytes(Sample(format));

        for (int cut = 0; cut <= bytes.Length; cut += 3)
        {
            Script through = Through(SourceFormats.CreateDecoder(format, Hz), bytes[..cut]);
            Script restored = Through(SourceFormats.RestoreDecoder(through.Decoder.SaveState()), bytes[cut..], atS: 2);
            int before = through.Events.Count;
            SourceCounts counts = through.Decoder.Counts;
            Through(through, bytes[cut..], atS: 2);

            Assert.Equal(through.Events.Skip(before), restored.Events);
            Assert.Equal(through.Decoder.Counts.Since(counts), restored.Decoder.Counts);
            Assert.Equal(through.Decoder.SaveState(), restored.Decoder.SaveState());
            Assert.Equal((through.Decoder.TickHz, through.Decoder.BoardName), (restored.Decoder.TickHz, restored.Decoder.BoardName));
        }
    }

    [Fact]
    public void Garbage_before_good_lines_costs_no_line_after_its_first_end()
    {
        string good = string.Concat(Enumerable.Range(0, 20).Select(at => Pulse(at, at * 1000L)));

        Repeated.Try(
            Gen.Byte.Array[0, 400],
            seed: 2,
            times: 2000,
            garbage =>
            {
                var script = new Script(new PulseLineDecoder(Hz));
                script.Bytes(0, Hello());
                script.Give(new SourceBlock(SourceBlockKind.Bytes, Script.Ns(0), garbage));
                script.Bytes(0, "\n" + good);
                return script.PulseTicks.SequenceEqual(Enumerable.Range(0, 20).Select(at => at * 1000L))
                    && script.Decoder.Counts.BadLines == garbage.Count(value => value == '\n') + 1;
            });
    }

    [Fact]
    public void Garbage_of_any_kind_never_throws_in_any_format()
    {
        const string Alphabet = "0123456789ABCDEFabcdefHPST,*.-+eE \r\n";
        Gen<byte[]> digits = Gen.Int[0, Alphabet.Length - 1].Select(at => (byte)Alphabet[at]).Array[0, 400];
        Repeated.Try(
            Gen.Select(digits, Gen.Int[0, 3]),
            seed: 3,
            times: 2000,
            drawn =>
            {
                (byte[] garbage, int format) = drawn;
                Script script = Through(SourceFormats.CreateDecoder(SourceFormats.Names[format], Hz), garbage);
                SourceCounts counts = script.Decoder.Counts;
                return counts.BadLines + script.Events.Count >= garbage.Count(value => value == '\n');
            });
    }

    [Fact]
    public void Lines_removed_at_random_are_counted_exactly()
    {
        const int Lines = 2000;
        Repeated.Try(
            Gen.Select(Gen.Double[0, 0.9].Array[Lines], Gen.Double[0.05, 0.8]),
            seed: 4,
            times: 100,
            drawn =>
            {
                (double[] chances, double removed) = drawn;
                bool[] kept = [.. chances.Select((chance, at) => at is 0 or Lines - 1 || chance > removed)];
                var script = new Script(new PulseLineDecoder(Hz));
                script.Bytes(0, Hello());
                for (int at = 0; at < Lines; at++)
                    script.Bytes(at * 0.02, kept[at] ? Pulse(at, at * Hz / 50) : "");
                return script.Decoder.Counts.LostOnLine == kept.Count(arrived => !arrived)
                    && script.Decoder.Counts.Received == kept.Count(arrived => arrived);
            });
    }

    [Fact]
    public void A_damaged_byte_costs_its_line_and_is_seen_as_bad_and_as_lost()
    {
        string[] lines = [.. Enumerable.Range(0, 50).Select(at => Pulse(at, at * 1000L, 70))];
        Repeated.Try(
            Gen.Select(Gen.Int[1, 48], Gen.Int[0, lines[0].Length - 2], Gen.Int[1, 255]),
            seed: 5,
            times: 2000,
            drawn =>
            {
                (int line, int at, int change) = drawn;
                char damaged = (char)(lines[line][at] ^ change);
                if (damaged == '\n')
                    return true;
                var script = new Script(new PulseLineDecoder(Hz));
                script.Bytes(0, Hello() + string.Concat(lines[..line]) + lines[line][..at] + damaged + lines[line][(at + 1)..] + string.Concat(lines[(line + 1)..]));
                return script.Decoder.Counts is { BadLines: 1, LostOnLine: 1, Received: 49 };
            });
    }

    private static string Sample(string format)
    {
        if (format == PulseLineDecoder.Format)
        {
            return "00*12\n" + Pulse(3, 100) + Status(1000, 4) + Hello() + Pulse(4, 2000, 77) + "\r\n" + Pulse(6, 9000).Replace("\n", "\r\n", StringComparison.Ordinal)
                + new string('z', 200) + "\n" + Status(10_000, 7, 1) + Hello(boot: 9) + Pulse(0, 50) + Status(60, 1) + Time(0x7F, 70) + "P0";
        }

        return "12\n34.5\r\n\nabc\n-3\n 4096 \n" + new string('9', 70) + "\n4294967295\n17\n3000\n90000\n6000\n12";
    }

    private static string Decode(string format, IEnumerable<byte[]> blocks)
    {
        var script = new Script(SourceFormats.CreateDecoder(format, Hz));
        foreach (byte[] block in blocks)
            script.Give(new SourceBlock(SourceBlockKind.Bytes, Script.Ns(0), block));
        script.Bytes(4, "\n");
        return string.Join('\n', script.Events) + script.Decoder.Counts;
    }

    private static IEnumerable<byte[]> Cut(byte[] bytes, int[] lengths)
    {
        int from = 0;
        foreach (int length in lengths)
        {
            int to = Math.Min(from + length, bytes.Length);
            yield return bytes[from..to];
            from = to;
        }

        yield return bytes[from..];
    }

    private static Script Through(ISourceDecoder decoder, byte[] bytes, double atS = 0) => Through(new Script(decoder), bytes, atS);

    // Each line in a block of its own time, so that the clock matters; questions in between.
    private static Script Through(Script script, byte[] bytes, double atS)
    {
        for (int at = 0; at < bytes.Length; at += 17)
        {
            script.Asked(atS + (at * 0.01), "T7F\n");
            script.Give(new SourceBlock(SourceBlockKind.Bytes, Script.Ns(atS + (at * 0.01)), bytes.AsSpan(at, Math.Min(17, bytes.Length - at))));
        }

        return script;
    }
}
