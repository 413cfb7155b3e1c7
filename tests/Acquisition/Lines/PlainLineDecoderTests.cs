using Acquire.Acquisition.Lines;
using Xunit;

namespace Acquire.Acquisition.Tests.Lines;

public sealed class PlainLineDecoderTests
{
    private const long Wrap = 1L << 32;

    [Fact]
    public void Ticks_are_pulses_as_they_stand()
    {
        Script script = New("ticks", 1e6).Bytes(0, "1000\r\n2500\n 4000 \n9000000000000\n");

        Assert.Equal([1000, 2500, 4000, 9_000_000_000_000], script.PulseTicks);
        Assert.Equal(1e6, script.Decoder.TickHz);
        Assert.All(script.Pulses, said => Assert.Equal(-1, said.Pulse.Sequence));
        Assert.Equal(4, script.Decoder.Counts.Received);
    }

    [Fact]
    public void A_fall_by_more_than_half_of_32_bits_is_a_wrap()
    {
        Script script = New("ticks", 1e6).Bytes(0, "4294960000\n1000\n4294960000\n500\n");

        Assert.Equal([4_294_960_000, Wrap + 1000, Wrap + 4_294_960_000, (2 * Wrap) + 500], script.PulseTicks);
        Assert.Equal(0, script.Decoder.Counts.Restarts);
    }

    [Fact]
    public void Another_fall_is_a_restart_and_the_ticks_go_on_by_the_hosts_time()
    {
        Script script = New("ticks", 1e6).Bytes(0, "5000000\n").Bytes(3, "200\n1200\n");

        Assert.Equal([5_000_000, 8_000_000, 8_001_000], script.PulseTicks);
        Assert.Equal(1, script.Decoder.Counts.Restarts);
        Assert.Equal(SourceEventKind.BoardRestarted, script.Events[1].Kind);
    }

    [Fact]
    public void A_64_bit_count_that_falls_far_is_a_restart_and_no_wrap()
    {
        Script script = New("ticks", 1e6).Bytes(0, "5000000000\n").Bytes(1, "1000000000\n");

        Assert.Equal([5_000_000_000, 5_001_000_000], script.PulseTicks);
        Assert.Equal(1, script.Decoder.Counts.Restarts);
    }

    [Fact]
    public void Intervals_add_up()
    {
        Script script = New("interval", 1e6).Bytes(0, "20000\n20010\n20020.4\n");

        Assert.Equal([20_000, 40_010, 60_030], script.PulseTicks);
    }

    [Fact]
    public void Where_intervals_are_missing_the_hosts_time_stands_in()
    {
        Script script = New("interval", 1e6).Bytes(0, "20000\n").Bytes(0.02, "2x000\n").Bytes(0.04, "20000\n").LinkLost(0.05).LinkBack(10).Bytes(10.04, "20000\n20000\n");

        Assert.Equal([20_000, 60_000, 10_060_000, 10_080_000], script.PulseTicks);
        Assert.Equal(1, script.Decoder.Counts.BadLines);
    }

    [Theory]
    [InlineData("interval", "0")]
    [InlineData("interval", "-20000")]
    [InlineData("interval", "99999999999999")]
    [InlineData("ticks", "-1")]
    [InlineData("ticks", "99999999999999999999")]
    [InlineData("rpm", "-1")]
    [InlineData("rpm", "1000001")]
    [InlineData("rpm", "NaN")]
    [InlineData("rpm", "Infinity")]
    [InlineData("rpm", "3000 rpm")]
    [InlineData("ticks", "12,5")]
    [InlineData("ticks", "speed: 12")]
    [InlineData("ticks", "")]
    [InlineData("ticks", "00000000000000000000000000000000000000000000000000000000000000012")]
    public void What_is_no_number_or_cannot_be_counts_as_bad(string format, string line)
    {
        Script script = New(format, 1e6).Bytes(0, line + "\n");

        Assert.Equal(1, script.Decoder.Counts.BadLines);
        Assert.Empty(script.Events);
    }

    [Fact]
    public void A_steady_speed_gives_a_pulse_a_turn()
    {
        Script script = New("rpm", 1);
        for (int at = 0; at <= 100; at++)
            script.Bytes(at * 0.1, "600\n");

        // 10 turns a second for 10 s; the last turn ends with the last sample, give or take rounding.
        Assert.InRange(script.Count(SourceEventKind.Pulse), 99, 100);
        Assert.All(script.PulseTicks.Zip(script.PulseTicks.Skip(1)), pair => Assert.InRange(pair.Second - pair.First, 99_999_990, 100_000_010));
        Assert.Equal(1e9, script.Decoder.TickHz);
    }

    [Fact]
    public void A_speed_that_falls_evenly_puts_its_pulses_where_the_integral_says()
    {
        Script script = New("rpm", 1).Bytes(0, "1200\n").Bytes(10, "0\n");

        // turns(t) = 20 t − t², so that turn n is at 10 − √(100 − n): worked out by hand.
        double[] expected = [.. Enumerable.Range(1, 99).Select(turn => 10 - Math.Sqrt(100 - turn))];
        double[] found = [.. script.PulseTicks.Select(ticks => (ticks - Script.Ns(0)) / 1e9)];
        Assert.InRange(found.Length, 99, 100);
        for (int at = 0; at < expected.Length; at++)
            Assert.Equal(expected[at], found[at], 6);
    }

    [Fact]
    public void Standing_still_gives_no_pulse_but_shows_that_the_board_is_alive()
    {
        Script script = New("rpm", 1).Bytes(0, "0\n").Bytes(1, "0.0\n");

        Assert.Equal(2, script.Count(SourceEventKind.Status));
        Assert.Equal(0, script.Decoder.Counts.Received);
    }

    [Fact]
    public void Speeds_are_not_joined_across_an_unplug_or_a_long_silence()
    {
        Script script = New("rpm", 1).Bytes(0, "600\n").LinkLost(1).LinkBack(30).Bytes(31, "600\n").Bytes(200, "600\n");

        Assert.Equal(0, script.Decoder.Counts.Received);
    }

    [Fact]
    public void A_plain_board_is_never_asked_for_its_name()
    {
        Assert.All(["ticks", "interval", "rpm"], format => Assert.False(New(format, 1).Decoder.WantsName(Script.Ns(100))));
    }

    [Fact]
    public void An_unknown_format_is_answered_with_those_there_are()
    {
        ArgumentException problem = Assert.Throws<ArgumentException>(() => SourceFormats.CreateDecoder("hertz", 1));

        Assert.Contains("pulse-lines, ticks, interval, rpm", problem.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(-1)]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    public void A_tick_rate_has_to_be_more_than_nothing(double tickHz)
    {
        Assert.All(SourceFormats.Names, format => Assert.Throws<ArgumentOutOfRangeException>(() => SourceFormats.CreateDecoder(format, tickHz)));
    }

    [Theory]
    [InlineData("")]
    [InlineData("null")]
    [InlineData("[]")]
    [InlineData("{}")]
    [InlineData("{\"format\":\"pulse-lines\",\"tickHz\":1}")]
    [InlineData("{\"format\":\"pulse-lines\",\"tickHz\":0,\"pulseLines\":{}}")]
    [InlineData("{\"format\":\"hertz\",\"tickHz\":1,\"plainLines\":{}}")]
    [InlineData("{\"format\":\"ticks\",\"tickHz\":1,\"part\":\"!\",\"plainLines\":{}}")]
    public void A_text_that_is_no_state_is_bad_data(string state)
    {
        Assert.Throws<InvalidDataException>(() => SourceFormats.RestoreDecoder(state));
    }

    private static Script New(string format, double tickHz) => new(SourceFormats.CreateDecoder(format, tickHz));
}
