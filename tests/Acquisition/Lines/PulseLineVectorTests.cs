using System.Globalization;
using System.Text;
using Acquire.Acquisition.Lines;
using Xunit;

namespace Acquire.Acquisition.Tests.Lines;

/// <summary>Against the vectors that the board's own tests use: hardware/protocol/vectors.txt.</summary>
public sealed class PulseLineVectorTests
{
    private static readonly string[] Vectors = ReadVectors();

    public static TheoryData<string, string> Checks => [.. Of("check").Select(rest => (rest[..rest.LastIndexOf(' ')], rest[(rest.LastIndexOf(' ') + 1)..]))];

    public static TheoryData<string> Good => [.. Of("good")];

    public static TheoryData<string> Bad => [.. Of("bad").Select(rest => rest[(rest.IndexOf(' ', StringComparison.Ordinal) + 1)..])];

    [Theory]
    [MemberData(nameof(Checks))]
    public void The_check_of_a_text_is_as_published(string text, string check)
    {
        Assert.Equal(check, Crc16.Of(Encoding.ASCII.GetBytes(text)).ToString("X4", CultureInfo.InvariantCulture));
        Assert.Equal(check, BoardWriter.Check(text).ToString("X4", CultureInfo.InvariantCulture));
    }

    [Theory]
    [MemberData(nameof(Good))]
    public void A_good_line_is_taken(string line)
    {
        Script script = Settled().Bytes(1, line + "\n").Bytes(1, line + "\r\n");

        Assert.Equal(0, script.Decoder.Counts.BadLines);
        if (line[0] != 'H')
            Assert.Equal(2, script.Events.Count(said => said.Kind is SourceEventKind.Pulse or SourceEventKind.Status));
    }

    [Theory]
    [MemberData(nameof(Bad))]
    public void A_bad_line_is_counted_and_costs_no_other(string line)
    {
        string good = "P12,00010000,0*D401\n";

        Script script = Settled().Bytes(1, line + "\n" + good);

        Assert.Equal(1, script.Decoder.Counts.BadLines);
        Assert.Equal(0x12, Assert.Single(script.Pulses).Pulse.Sequence);
    }

    [Fact]
    public void The_published_lines_say_what_they_say()
    {
        Script script = new Script(new PulseLineDecoder(1)).Bytes(
            0, "H,1,2000000,32,5A3C,atmega328p*FD49\nP00,00000000*4C99\nP01,0003D090,0186A0*579A\n");

        Assert.Equal(2_000_000, script.Decoder.TickHz);
        Assert.Equal("atmega328p", script.Decoder.BoardName);
        Assert.Equal([new Pulse(0, 0, 0), new Pulse(250_000, 100_000, 1)], script.Pulses.Select(said => said.Pulse));
    }

    [Fact]
    public void Every_length_of_text_has_the_check_of_the_slow_way()
    {
        var random = new Random(3);
        for (int length = 0; length <= 64; length++)
        {
            string text = string.Concat(Enumerable.Range(0, length).Select(_ => (char)random.Next(128)));

            Assert.Equal(BoardWriter.Check(text), Crc16.Of(Encoding.ASCII.GetBytes(text)));
        }
    }

    private static Script Settled() => new Script(new PulseLineDecoder(2_000_000)).Bytes(0, BoardWriter.Hello(boot: 0x1234));

    private static IEnumerable<string> Of(string word) =>
        Vectors.Where(line => line.StartsWith(word + " ", StringComparison.Ordinal)).Select(line => line[(word.Length + 1)..]);

    private static string[] ReadVectors()
    {
        string? folder = AppContext.BaseDirectory;
        while (folder is not null && !File.Exists(Path.Combine(folder, "Acquire.sln")))
            folder = Path.GetDirectoryName(folder);
        Assert.NotNull(folder);
        return File.ReadAllLines(Path.Combine(folder, "hardware", "protocol", "vectors.txt"));
    }
}
