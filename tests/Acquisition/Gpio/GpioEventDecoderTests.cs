using Acquire.Acquisition.Gpio;
using Acquire.Acquisition.Lines;
using Acquire.Acquisition.Tests.Lines;
using CsCheck;
using Xunit;

namespace Acquire.Acquisition.Tests.Gpio;

public sealed class GpioEventDecoderTests
{
    private const uint Rise = 1;
    private const uint Fall = 2;

    [Fact]
    public void One_edge_a_pulse_has_the_kernels_time_and_no_width()
    {
        Script script = Begin("gpio-falling").Edges((0.1, Fall, 1), (0.2, Fall, 2));

        Assert.Equal([Script.Ns(0.1), Script.Ns(0.2)], script.PulseTicks);
        Assert.Equal([1, 2], script.Pulses.Select(said => (int)said.Pulse.Sequence));
        Assert.All(script.Pulses, said => Assert.Equal(0u, said.Pulse.WidthTicks));
        Assert.True(script.Decoder.IsHostClock);
        Assert.Equal(1e9, script.Decoder.TickHz);
    }

    [Theory]
    [InlineData("gpio-falling-widths", Fall, Rise)]
    [InlineData("gpio-rising-widths", Rise, Fall)]
    public void Of_both_edges_the_named_one_begins_a_pulse_and_the_other_gives_its_width(string format, uint leading, uint trailing)
    {
        Script script = Begin(format).Edges((0.1, leading, 1), (0.125, trailing, 2), (0.2, leading, 3));
        Assert.Equal([Script.Ns(0.1)], script.PulseTicks);
        Assert.Equal(25_000_000u, script.Pulses.Single().Pulse.WidthTicks);

        script.Decoder.Finish(script.Events);
        Assert.Equal([Script.Ns(0.1), Script.Ns(0.2)], script.PulseTicks);
        Assert.Equal(0u, script.Pulses.Last().Pulse.WidthTicks);
    }

    [Fact]
    public void A_width_of_more_than_four_seconds_is_left_out()
    {
        Script script = Begin("gpio-falling-widths").Edges((0.1, Fall, 1), (4.5, Rise, 2));
        Assert.Equal((Script.Ns(0.1), 0u), (script.Pulses.Single().Pulse.Ticks, script.Pulses.Single().Pulse.WidthTicks));
    }

    [Theory]
    [InlineData("gpio-falling", 3, 2)]
    [InlineData("gpio-falling", 1, 0)]
    [InlineData("gpio-falling-widths", 3, 1)]
    [InlineData("gpio-falling-widths", 4, 2)]
    public void What_came_before_the_first_number_was_lost(string format, uint first, long lost)
    {
        // Of both edges each second one begins a pulse; numbers 1, 3, … do so where the line was high when it was opened.
        Assert.Equal(lost, Begin(format).Edges((0.1, first % 2 == 0 && format != "gpio-falling" ? Rise : Fall, first)).Decoder.Counts.LostOnLine);
    }

    [Theory]
    [InlineData(Fall, 2, 1)] // trailing, leading missing
    [InlineData(Fall, 3, 1)] // trailing, leading, trailing
    [InlineData(Fall, 4, 2)]
    [InlineData(Rise, 1, 1)] // leading
    [InlineData(Rise, 2, 1)]
    [InlineData(Rise, 3, 2)]
    public void A_gap_counts_the_leading_edges_in_it(uint before, uint gap, long lost)
    {
        Script script = Begin("gpio-falling-widths");
        if (before == Rise)
            script.Edges((0.1, Fall, 1));
        uint last = before == Rise ? 2u : 1u;
        script.Edges((0.2, before, last));
        script.Edges((0.3, (gap % 2 == 0) == (before == Fall) ? Rise : Fall, last + gap + 1));
        script.Decoder.Finish(script.Events);
        Assert.Equal(lost, script.Decoder.Counts.LostOnLine);
        Assert.Equal(script.Decoder.Counts.Received, script.Pulses.Count());
    }

    [Fact]
    public void An_edge_that_the_kernel_took_for_the_other_kind_is_not_passed_over_in_silence()
    {
        Script script = Begin("gpio-falling-widths").Edges((0.1, Fall, 1), (0.11, Rise, 2), (0.2, Rise, 3), (0.21, Rise, 4), (0.3, Fall, 5), (0.31, Fall, 6), (0.4, Fall, 7));
        script.Decoder.Finish(script.Events);

        Assert.Equal([0.1, 0.3, 0.31, 0.4], script.PulseTicks.Select(ticks => Math.Round((ticks * 1e-9) - 1000, 6)));
        Assert.Equal(1, script.Decoder.Counts.LostOnLine);
    }

    [Fact]
    public void Numbers_go_round()
    {
        Script script = Begin("gpio-falling").Edges((0.1, Fall, 1));
        script = new Script(Restored(script.Decoder, state => state.Replace("\"next\":2", "\"next\":4294967295", StringComparison.Ordinal)));
        script.Edges((0.2, Fall, uint.MaxValue), (0.3, Fall, 0), (0.4, Fall, 1), (0.5, Fall, 3));
        Assert.Equal((4, 1), (script.Decoder.Counts.Received, script.Decoder.Counts.LostOnLine));
    }

    [Fact]
    public void What_cannot_be_is_counted_and_left_out()
    {
        Script script = Begin("gpio-falling").Edges((0.3, Fall, 5));
        SourceCounts before = script.Decoder.Counts;
        script.Edges((0.2, Fall, 6));                                // before the last
        script.Edges((0.4, Rise, 7));                                // not asked for
        script.Edges((0.5, Fall, 4));                                // a number that was before
        script.Edges((0.6, 99, 7));                                  // no kind
        script.At(0.7, Record(9.9, Fall, 6));                        // later than it was read
        script.At(0.8, [.. Record(0.8, Fall, 6), 1, 2, 3]);          // no whole record behind it

        Assert.Equal(before with { Received = before.Received + 1, BadLines = 6 }, script.Decoder.Counts);
    }

    [Fact]
    public void A_level_tells_the_time_and_so_does_the_link()
    {
        Script script = Begin("gpio-falling");
        script.At(1, Record(0.9, 0x10, 0)).At(2, Record(1.9, 0x11, 0));
        Assert.Equal([Script.Ns(0), Script.Ns(0.9), Script.Ns(1.9)], script.Events.Where(said => said.Kind == SourceEventKind.Status).Select(said => said.Pulse.Ticks));
    }

    [Fact]
    public void A_line_that_went_and_came_begins_its_numbers_again_and_its_pulse_has_no_width()
    {
        Script script = Begin("gpio-falling-widths").Edges((0.1, Fall, 1)).LinkLost(0.2).LinkBack(5);
        script.Edges((6, Rise, 1), (6.1, Fall, 2), (6.2, Rise, 3));
        Assert.Equal([(Script.Ns(0.1), 0u), (Script.Ns(6.1), 100_000_000u)], script.Pulses.Select(said => (said.Pulse.Ticks, said.Pulse.WidthTicks)));
        Assert.Equal(0, script.Decoder.Counts.LostOnLine); // it came back with the mark before the sensor
    }

    [Fact]
    public void A_decoder_restored_at_any_place_says_the_same_as_one_that_went_on()
    {
        foreach (string format in GpioEventDecoder.Formats)
        {
            Repeated.Try(
                Gen.Select(Gen.Int[1, 2], Gen.Int[0, 3], Gen.Int[0, 20]).Array[0, 60],
                seed: 11,
                times: 300,
                drawn =>
                {
                    var on = new Script(SourceFormats.CreateDecoder(format, 1));
                    ISourceDecoder broken = SourceFormats.CreateDecoder(format, 1);
                    var events = new List<SourceEvent>();
                    long number = 0;
                    for (int i = 0; i < drawn.Length; i++)
                    {
                        (int kind, int gap, int other) = drawn[i];
                        number += gap == 3 ? 4 : 1;
                        byte[] bytes = Record(i + 0.5, (uint)kind, (uint)number);
                        SourceBlockKind what = other switch { 0 => SourceBlockKind.LinkLost, 1 => SourceBlockKind.LinkBack, _ => SourceBlockKind.Bytes };
                        var block = new SourceBlock(what, Script.Ns(i + 1), what == SourceBlockKind.Bytes ? bytes : "x"u8);
                        on.Give(block);
                        broken = SourceFormats.RestoreDecoder(broken.SaveState());
                        broken.Decode(block, events);
                    }

                    on.Decoder.Finish(on.Events);
                    broken.Finish(events);
                    return on.Events.SequenceEqual(events);
                });
        }
    }

    [Fact]
    public void Garbage_never_throws_and_none_of_it_is_passed_over_in_silence() => Repeated.Try(
        Gen.Select(Gen.Byte.Array[0, 400], Gen.Int[0, 3]),
        seed: 12,
        times: 2000,
        drawn =>
        {
            (byte[] garbage, int format) = drawn;
            var script = new Script(new GpioEventDecoder(GpioEventDecoder.Formats[format]));
            script.Give(new SourceBlock(SourceBlockKind.Bytes, Script.Ns(0), garbage));
            return script.Decoder.Counts.BadLines + script.Events.Count >= (garbage.Length + 15) / 16;
        });

    private static Script Begin(string format) => new Script(SourceFormats.CreateDecoder(format, 1)).LinkBack(0);

    private static ISourceDecoder Restored(ISourceDecoder decoder, Func<string, string> change) => SourceFormats.RestoreDecoder(change(decoder.SaveState()));

    private static byte[] Record(double atS, uint kind, uint number) =>
        [.. BitConverter.GetBytes(Script.Ns(atS)), .. BitConverter.GetBytes(kind), .. BitConverter.GetBytes(number)];
}

internal static class GpioScript
{
    /// <summary>A block of one read a millisecond after its last edge.</summary>
    internal static Script Edges(this Script script, params (double AtS, uint Kind, uint Number)[] edges)
    {
        byte[] bytes = [.. edges.SelectMany(e => (byte[])[.. BitConverter.GetBytes(Script.Ns(e.AtS)), .. BitConverter.GetBytes(e.Kind), .. BitConverter.GetBytes(e.Number)])];
        return script.At(edges[^1].AtS + 0.001, bytes);
    }

    internal static Script At(this Script script, double atS, byte[] bytes)
    {
        script.Give(new SourceBlock(SourceBlockKind.Bytes, Script.Ns(atS), bytes));
        return script;
    }
}
