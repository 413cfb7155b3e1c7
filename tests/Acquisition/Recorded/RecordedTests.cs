using System.Text.Json;
using Acquire.Acquisition.Clock;
using Acquire.Acquisition.Lines;
using Acquire.Acquisition.Serial;
using Acquire.Terminals;
using Xunit;

namespace Acquire.Acquisition.Tests.Recorded;

/// <summary>Recorded lines, decoded again on the clock that was recorded with them. What is expected was worked out by reading.py, which shares no
/// code with the decoders; integers are compared exactly.</summary>
public sealed class RecordedTests
{
    public static TheoryData<string> Names => [.. RecordedCase.Names];

    [Fact]
    public void The_cases_that_go_wrong_in_practice_are_there() => Assert.Superset(
        new HashSet<string>
        {
            "firmware-cold-start", "firmware-spin", "firmware-unplug", "firmware-wrap", "garbage", "restart", "spliced", "torn-tail",
        },
        RecordedCase.Names.ToHashSet());

    [Theory]
    [MemberData(nameof(Names))]
    public void A_case_says_where_it_comes_from(string name)
    {
        RecordedCase recorded = RecordedCase.Read(name);
        foreach (string field in (string[])["what", "origin", "board", "firmware", "adapter", "baud", "rotor", "date", "edited"])
            Assert.NotEqual("", recorded.About(field));
        Assert.Contains(recorded.About("origin"), (string[])["captured", "invented"]);
    }

    [Theory]
    [MemberData(nameof(Names))]
    public void A_case_gives_the_events_and_counts_that_are_expected(string name)
    {
        RecordedCase recorded = RecordedCase.Read(name);
        Assert.Equal(Lines(recorded.Events), Lines(Decode(recorded, recorded.Reads, out ISourceDecoder decoder)));
        Assert.Equal(recorded.Counts, decoder.Counts);
        Assert.Equal((recorded.Board, recorded.TickHz), (decoder.BoardName, decoder.TickHz));
    }

    [Theory]
    [MemberData(nameof(Names))]
    public void Cut_at_every_byte_it_gives_the_same(string name)
    {
        RecordedCase recorded = RecordedCase.Read(name);
        Assert.Equal(Lines(recorded.Events), Lines(Decode(recorded, recorded.Cut(() => 1), out ISourceDecoder decoder)));
        Assert.Equal(recorded.Counts, decoder.Counts);
    }

    [Theory]
    [MemberData(nameof(Names))]
    public void Cut_at_random_places_it_gives_the_same(string name)
    {
        RecordedCase recorded = RecordedCase.Read(name);
        for (int seed = 1; seed <= 50; seed++)
        {
            var random = new Random(seed);
            Assert.Equal(Lines(recorded.Events), Lines(Decode(recorded, recorded.Cut(() => random.Next(1, 40)), out _)));
        }
    }

    // Times and what follows from them are other ones then; the lines are not.
    [Theory]
    [MemberData(nameof(Names))]
    public void In_one_block_the_lines_are_the_same(string name)
    {
        RecordedCase recorded = RecordedCase.Read(name);
        List<BoardLine> lines = Parse(recorded.Reads);
        Assert.Equal(lines, Parse(recorded.Whole()));
        Assert.Equal(recorded.Counts.Received, lines.Count(line => line.Kind == BoardLineKind.Pulse));
    }

    [Theory]
    [MemberData(nameof(Names))]
    public void A_digit_that_is_wrong_is_a_wrong_result(string name)
    {
        RecordedCase recorded = RecordedCase.Read(name);
        int longest = Enumerable.Range(0, recorded.Reads.Count).MaxBy(i => Clean(recorded.Reads[i]));
        byte[] changed = [.. recorded.Reads[longest].Payload];
        int at = Array.FindLastIndex(changed, value => value is >= (byte)'0' and < (byte)'9');
        changed[at]++;
        List<ReadBlock> reads = [.. recorded.Reads[..longest], recorded.Reads[longest] with { Payload = changed }, .. recorded.Reads[(longest + 1)..]];
        Decode(recorded, reads, out ISourceDecoder decoder);
        Assert.NotEqual(recorded.Counts, decoder.Counts);
    }

    [Theory]
    [MemberData(nameof(Names))]
    public void The_clock_fit_is_as_it_was_and_tells_the_truth(string name)
    {
        RecordedCase recorded = RecordedCase.Read(name);
        ClockEstimate fit = Fit(recorded);
        if (recorded.Fit is not JsonElement expected)
        {
            Assert.Equal(ClockMethod.Nominal, fit.Method);
            return;
        }

        Assert.Equal(expected.GetProperty("method").GetString(), fit.Method.ToString());
        Assert.Equal(expected.GetProperty("samples").GetInt64(), fit.Samples);
        double tolerance = expected.GetProperty("tolerancePpm").GetDouble();
        Assert.Equal(expected.GetProperty("ratePpm").GetDouble(), fit.RatePpm, tolerance);
        Assert.Equal(expected.GetProperty("uRatePpm").GetDouble(), fit.URatePpm, tolerance);
        double truePpm = expected.GetProperty("truePpm").GetDouble();
        Assert.InRange(fit.RatePpm, truePpm - (4 * fit.URatePpm), truePpm + (4 * fit.URatePpm));
    }

    [Fact]
    public void Through_a_real_port_the_same_bytes_and_lines_arrive()
    {
        RecordedCase recorded = RecordedCase.Read("garbage");
        using var port = new PseudoTerminal();
        using var source = new SerialPulseSource(new SerialSettings { Port = port.PortPath }, waitForPort: false, TimeProvider.System);
        source.Start();
        var reader = new BlockReader(source.Blocks);
        reader.Next(SourceBlockKind.LinkBack, 5000);
        byte[] sent = [.. recorded.Reads.Where(read => read.Kind == SourceBlockKind.Bytes).SelectMany(read => read.Payload)];
        foreach (ReadBlock read in recorded.Reads.Where(read => read.Kind == SourceBlockKind.Bytes))
            port.Write(read.Payload);
        var arrived = new List<ReadBlock>();
        while (arrived.Sum(block => block.Payload.Length) < sent.Length)
            arrived.Add(reader.Next(SourceBlockKind.Bytes, 5000));
        Assert.Equal(sent, arrived.SelectMany(block => block.Payload));
        Assert.Equal(Parse(recorded.Reads), Parse(arrived));
    }

    // Bytes of a read that is no garbage.
    private static int Clean(ReadBlock read) =>
        read.Kind == SourceBlockKind.Bytes && Array.TrueForAll(read.Payload, value => value is > 0 and < 128) ? read.Payload.Length : 0;

    private static List<SourceEvent> Decode(RecordedCase recorded, IEnumerable<ReadBlock> reads, out ISourceDecoder decoder)
    {
        decoder = recorded.Decoder();
        var events = new List<SourceEvent>();
        foreach (ReadBlock read in reads)
            read.Decode(decoder, events);
        return events;
    }

    private static List<BoardLine> Parse(IEnumerable<ReadBlock> reads)
    {
        var cutter = new LineCutter();
        var lines = new List<BoardLine>();
        foreach (ReadBlock read in reads)
        {
            if (read.Kind is SourceBlockKind.LinkLost or SourceBlockKind.LinkBack)
                cutter.Drop();
            ReadOnlySpan<byte> rest = read.Kind == SourceBlockKind.Bytes ? read.Payload : default;
            while (cutter.TryTake(ref rest, out ReadOnlySpan<byte> line))
                lines.Add(BoardLine.Parse(line, out _));
        }

        return lines;
    }

    private static ClockEstimate Fit(RecordedCase recorded)
    {
        var fit = new ClockFit(recorded.TickHz);
        foreach (SourceEvent said in recorded.Events)
        {
            switch (said.Kind)
            {
                case SourceEventKind.Pulse:
                    fit.AddOneWay(said.Pulse.Ticks + said.Pulse.WidthTicks, said.HostNs);
                    break;
                case SourceEventKind.Status:
                    fit.AddOneWay(said.Pulse.Ticks, said.HostNs);
                    break;
                case SourceEventKind.TimeAnswer:
                    fit.AddTwoWay(said.AskedNs, said.Pulse.Ticks, said.HostNs);
                    break;
                case SourceEventKind.BoardRestarted:
                    fit.Reset();
                    break;
            }
        }

        return fit.Estimate();
    }

    private static IEnumerable<string> Lines(IEnumerable<SourceEvent> events) => events.Select(said => said.ToString());
}
