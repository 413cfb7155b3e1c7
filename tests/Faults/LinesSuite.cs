using System.Globalization;
using System.Text;
using Acquire.Acquisition;
using Acquire.Acquisition.Lines;

namespace Acquire.Faults;

/// <summary>Malformed lines: nothing throws, each line that ended is counted as what it is, and the way that reads cut them changes nothing.</summary>
internal static class LinesSuite
{
    private const double SampleS = 5;
    private const int BatchCases = 64;

    public static void Break(Extent extent, Tally tally)
    {
        long began = TimeProvider.System.GetTimestamp();
        double limitS = extent.IsSample ? SampleS : extent.Minutes * 60;
        int next = extent.First;
        while (extent.Cases is { } cases ? next < extent.First + cases : TimeProvider.System.GetElapsedTime(began).TotalSeconds < limitS)
        {
            int first = next;
            int count = Math.Min(BatchCases, extent.Cases is { } all ? extent.First + all - first : BatchCases);
            Parallel.For(first, first + count, seed => tally.Count($"seed {seed}", Case(seed)));
            next = first + count;
        }
    }

    private static List<string> Case(int seed)
    {
        var wrong = new List<string>();
        var random = new Random(seed);
        byte[] bytes = Malformed(random);
        foreach (string format in SourceFormats.Names)
        {
            try
            {
                Check(format, bytes, random, wrong);
            }
            catch (Exception e)
            {
                wrong.Add($"{format}: {e}");
            }
        }

        return wrong;
    }

    private static void Check(string format, byte[] bytes, Random random, List<string> wrong)
    {
        // All at one time, so that only the cuts between reads differ.
        (List<SourceEvent> whole, SourceCounts counts) = Decode(format, [bytes], saveAt: -1);
        List<byte[]> cut = Cut(bytes, random);
        (List<SourceEvent> inPieces, SourceCounts countsInPieces) = Decode(format, cut, saveAt: -1);
        if (!whole.SequenceEqual(inPieces) || counts != countsInPieces)
            wrong.Add($"{format}: reads cut otherwise gave {inPieces.Count} events and {countsInPieces}, not {whole.Count} and {counts}");
        (List<SourceEvent> restored, _) = Decode(format, cut, random.Next(cut.Count));
        if (!whole.SequenceEqual(restored))
            wrong.Add($"{format}: a decoder that went on from its saved state gave {restored.Count} events, not {whole.Count}");
        if (format == PulseLineDecoder.Format)
            CountLines(bytes, counts, wrong);
    }

    private static void CountLines(byte[] bytes, SourceCounts counts, List<string> wrong)
    {
        Dictionary<char, int> lines = PulseText.Lines(bytes).CountBy(PulseText.Kind).ToDictionary();
        int begun = bytes.Length - 1 - Array.LastIndexOf(bytes, (byte)'\n');
        int bad = lines.GetValueOrDefault('-') + (begun > 65 ? 1 : 0);
        if (counts.Received != lines.GetValueOrDefault('P') || counts.BadLines != bad)
            wrong.Add($"{counts.Received} pulses and {counts.BadLines} bad lines, but {lines.GetValueOrDefault('P')} and {bad} by the protocol");
    }

    private static (List<SourceEvent> Events, SourceCounts Counts) Decode(string format, List<byte[]> reads, int saveAt)
    {
        ISourceDecoder decoder = SourceFormats.CreateDecoder(format, 2_000_000);
        var events = new List<SourceEvent>();
        for (int i = 0; i < reads.Count; i++)
        {
            if (i == saveAt)
                decoder = SourceFormats.RestoreDecoder(decoder.SaveState());
            decoder.Decode(new SourceBlock(SourceBlockKind.Bytes, 1_000_000_000, reads[i]), events);
        }

        // What waited for the board's name comes out once it has waited long enough.
        decoder.Decode(new SourceBlock(SourceBlockKind.Bytes, 9_000_000_000, default), events);
        return (events, decoder.Counts);
    }

    private static List<byte[]> Cut(byte[] bytes, Random random)
    {
        var pieces = new List<byte[]>();
        int longest = random.Next(4) == 0 ? 1 : random.Next(1, 200);
        for (int at = 0; at < bytes.Length;)
        {
            int length = Math.Min(random.Next(1, longest + 1), bytes.Length - at);
            pieces.Add(bytes[at..(at + length)]);
            at += length;
        }

        return pieces.Count == 0 ? [[]] : pieces;
    }

    private static byte[] Malformed(Random random)
    {
        var text = new StringBuilder();
        long ticks = random.NextInt64(uint.MaxValue);
        int lines = random.Next(1, 120);
        for (int i = 0; i < lines; i++)
        {
            ticks += random.Next(1, 1_000_000);
            text.Append(Line(random, i, ticks));
        }

        byte[] bytes = Encoding.Latin1.GetBytes(text.ToString());
        for (int n = random.Next(0, 30); n > 0 && bytes.Length > 1; n--)
            bytes = Damage(bytes, random);
        return bytes;
    }

    private static string Line(Random random, int i, long ticks) => random.Next(12) switch
    {
        0 => PulseText.Line(PulseText.Hello),
        1 => PulseText.Status(ticks, i),
        2 => PulseText.Line(string.Create(CultureInfo.InvariantCulture, $"T{i & 0xFF:X2},{ticks & 0xFFFFFFFF:X8}")),
        3 => string.Create(CultureInfo.InvariantCulture, $"{ticks}\r\n"),
        4 => string.Create(CultureInfo.InvariantCulture, $"{random.NextDouble() * Math.Pow(10, random.Next(-3, 20))}\n"),
        5 => PulseText.Line(Extreme(random)),
        6 => new string((char)random.Next(1, 256), random.Next(0, 140)) + "\n",
        _ => PulseText.Pulse(i, ticks, random.Next(0, 5000)),
    };

    // Lines whose check holds and whose fields do not, or only just.
    private static string Extreme(Random random) => random.Next(10) switch
    {
        0 => "H,1,99999999999999999999,32,0A0B,faults",
        1 => "H,2,2000000,32,0A0B,faults",
        2 => "H,1,1,16,0000,-",
        3 => "H,1,100000000000,64,FFFF,abcdefghijklmnop",
        4 => "P00,FFFFFFFF,FFFFFFFF",
        5 => "P0g,00000000",
        6 => "S,FFFFFFFF,FFFFFFFF,FFFF",
        7 => "P00,00000000,",
        8 => "T00,0000000",
        _ => string.Concat(Enumerable.Range(0, random.Next(1, 70)).Select(_ => (char)random.Next(32, 127))),
    };

    private static byte[] Damage(byte[] bytes, Random random)
    {
        int at = random.Next(bytes.Length);
        int length = Math.Min(random.Next(1, 40), bytes.Length - at);
        switch (random.Next(5))
        {
            case 0:
                bytes[at] ^= (byte)(1 << random.Next(8));
                return bytes;
            case 1:
                return [.. bytes[..at], .. bytes[(at + length)..]];
            case 2:
                return [.. bytes[..at], .. bytes[at..(at + length)], .. bytes[at..]];
            case 3:
                bytes[at] = (byte)"\n\r*,-.eE+0"[random.Next(10)];
                return bytes;
            default:
                var noise = new byte[length];
                random.NextBytes(noise);
                return [.. bytes[..at], .. noise, .. bytes[at..]];
        }
    }
}
