using Acquire.Acquisition.Lines;
using Xunit;
using static Acquire.Acquisition.Tests.Lines.BoardWriter;

namespace Acquire.Acquisition.Tests.Lines;

public sealed class PulseLineDecoderTests
{
    private const long Hz = 2_000_000;

    [Fact]
    public void Lines_before_the_board_has_named_itself_wait_for_it_and_come_first()
    {
        Script script = New(tickHz: 1_000_000).Bytes(0, Pulse(0, 100) + Status(200, 1));
        Assert.Empty(script.Events);

        script.Bytes(1, Hello());

        Assert.Equal(
            [SourceEventKind.Pulse, SourceEventKind.Status, SourceEventKind.BoardNamed], script.Events.Select(said => said.Kind));
        Assert.Equal(Script.Ns(0), script.Events[0].HostNs);
        Assert.Equal(Hz, script.Decoder.TickHz);
        Assert.Equal("bench", script.Decoder.BoardName);
    }

    [Fact]
    public void Lines_of_a_board_that_never_names_itself_are_told_after_three_seconds()
    {
        Script script = New(tickHz: 1_000_000).Bytes(0, Pulse(0, 100)).Bytes(2.9, Pulse(1, 2_900_100));
        Assert.Empty(script.Events);

        script.Bytes(3, Pulse(2, 3_000_100));

        Assert.Equal([100, 2_900_100, 3_000_100], script.PulseTicks);
        Assert.Equal(1_000_000, script.Decoder.TickHz);
        Assert.Equal("", script.Decoder.BoardName);
    }

    [Fact]
    public void So_many_lines_before_the_name_that_they_find_no_room_are_told_early_and_none_is_lost()
    {
        string lines = string.Concat(Enumerable.Range(0, 5000).Select(at => Pulse(at, at * 1000L)));

        Script script = New().Bytes(0, lines);

        Assert.Equal(Enumerable.Range(0, 5000).Select(at => at * 1000L), script.PulseTicks);
        Assert.Equal(0, script.Decoder.Counts.LostOnLine);
    }

    [Fact]
    public void The_name_is_wanted_every_two_seconds_until_it_is_known_and_again_when_the_link_came_back()
    {
        Script script = New();
        ISourceDecoder decoder = script.Decoder;

        Assert.True(decoder.WantsName(Script.Ns(0)));
        Assert.False(decoder.WantsName(Script.Ns(1.9)));
        Assert.True(decoder.WantsName(Script.Ns(2)));
        script.Bytes(3, Hello());
        Assert.False(decoder.WantsName(Script.Ns(100)));
        script.LinkLost(101).LinkBack(102);
        Assert.True(decoder.WantsName(Script.Ns(102)));
        script.Bytes(103, Hello());
        Assert.False(decoder.WantsName(Script.Ns(110)));
    }

    [Fact]
    public void A_question_that_somebody_else_asked_puts_off_the_next()
    {
        Script script = New().Asked(0, "?\n");

        Assert.False(script.Decoder.WantsName(Script.Ns(1)));
        Assert.True(script.Decoder.WantsName(Script.Ns(2)));
    }

    [Fact]
    public void The_same_name_again_says_nothing_new()
    {
        Script script = New().Bytes(0, Hello()).Bytes(1, Hello()).Bytes(2, Hello());

        Assert.Equal(SourceEventKind.BoardNamed, Assert.Single(script.Events).Kind);
        Assert.Equal(0, script.Decoder.Counts.Restarts);
    }

    [Theory]
    [InlineData(2_000_000, 90)] // wraps every 35.8 min
    [InlineData(1_000_000, 180)] // every 71.6 min
    [InlineData(16_000_000, 20)] // every 4.5 min
    public void Ticks_go_on_over_every_wrap(long tickHz, int minutes)
    {
        Script script = New().Bytes(0, Hello(tickHz: tickHz));
        const long FirstTick = 4_000_000_000;
        int seconds = minutes * 60;

        for (int atS = 0; atS <= seconds; atS++)
            script.Bytes(atS, Pulse(atS, FirstTick + (atS * tickHz)));

        Assert.Equal(Enumerable.Range(0, seconds + 1).Select(atS => FirstTick + (atS * tickHz)), script.PulseTicks);
    }

    [Fact]
    public void A_pause_of_several_wraps_is_bridged_by_the_hosts_time_although_the_boards_clock_is_half_a_percent_off()
    {
        const int PauseS = 3 * 3600;
        long later = 500 + (long)(PauseS * Hz * 1.005);

        Script script = New().Bytes(0, Hello() + Pulse(0, 500)).Bytes(PauseS, Pulse(1, later));

        Assert.Equal([500, later], script.PulseTicks);
        Assert.Equal(0, script.Decoder.Counts.Restarts);
    }

    [Theory]
    [InlineData(16)]
    [InlineData(24)]
    public void A_narrow_counter_wraps_at_its_own_width(int bits)
    {
        const long SlowHz = 1000;
        long mask = (1L << bits) - 1;
        Script script = New().Bytes(0, Hello(tickHz: SlowHz, bits: bits));

        for (int at = 0; at < 3000; at++)
            script.Bytes(at * 20, Pulse(at, (at * 20 * SlowHz) & mask));

        Assert.Equal(Enumerable.Range(0, 3000).Select(at => at * 20 * SlowHz), script.PulseTicks);
    }

    [Fact]
    public void A_counter_wider_than_the_line_counts_as_32_bits()
    {
        long last = 0xFFFFFFF0;

        Script script = New().Bytes(0, Hello(bits: 64) + Pulse(0, last)).Bytes(1, Pulse(1, last + Hz));

        Assert.Equal([last, last + Hz], script.PulseTicks);
    }

    [Fact]
    public void A_status_that_overtakes_pulses_makes_ticks_fall_and_nothing_else_even_across_a_wrap()
    {
        const long Wrap = 1L << 32;

        Script script = New().Bytes(0, Hello() + Pulse(0, Wrap - 3000) + Status(Wrap + 1000, 3) + Pulse(1, Wrap - 2000) + Pulse(2, Wrap + 500));

        Assert.Equal([Wrap - 3000, Wrap - 2000, Wrap + 500], script.PulseTicks);
        Assert.Equal(Wrap + 1000, script.Events.Single(said => said.Kind == SourceEventKind.Status).Pulse.Ticks);
        Assert.Equal(0, script.Decoder.Counts.Restarts);
    }

    [Fact]
    public void Another_boot_id_is_a_restart_and_the_ticks_go_on_by_the_hosts_time()
    {
        Script script = New().Bytes(0, Hello(boot: 1) + Pulse(0, 1_000_000_000)).Bytes(10, Hello(boot: 2)).Bytes(12, Pulse(0, 77) + Pulse(1, 1077));

        Assert.Equal([1_000_000_000, 1_000_000_000 + (12 * Hz), 1_000_000_000 + (12 * Hz) + 1000], script.PulseTicks);
        SourceEvent restart = script.Events.Single(said => said.Kind == SourceEventKind.BoardRestarted);
        Assert.Equal(1_000_000_000 + (10 * Hz), restart.Pulse.Ticks);
        Assert.Equal((1, 0), (script.Decoder.Counts.Restarts, script.Decoder.Counts.LostOnLine));
    }

    [Fact]
    public void A_total_of_pulses_that_falls_is_a_restart_without_a_greeting()
    {
        Script script = New().Bytes(0, Hello() + Status(3_000_000, 50)).Bytes(1, Status(1_000_000, 2));

        Assert.Equal(1, script.Decoder.Counts.Restarts);
        Assert.Equal(3_000_000 + Hz, script.Events[^1].Pulse.Ticks);
        Assert.True(script.Decoder.WantsName(Script.Ns(1)));
    }

    [Fact]
    public void A_greeting_that_explains_a_restart_already_seen_is_not_another()
    {
        Script script = New().Bytes(0, Hello(boot: 1) + Status(3_000_000, 50)).Bytes(1, Status(1_000_000, 2)).Bytes(1.1, Hello(boot: 2)).Bytes(2, Status(3_000_000, 3));

        Assert.Equal(1, script.Decoder.Counts.Restarts);
        Assert.Equal(1, script.Count(SourceEventKind.BoardRestarted));
        Assert.Equal(3_000_000 + (2 * Hz), script.Events[^1].Pulse.Ticks);

        script.Bytes(3, Hello(boot: 3));
        Assert.Equal(2, script.Decoder.Counts.Restarts);
    }

    [Fact]
    public void A_board_that_resets_as_its_port_is_opened_is_joined_to_what_came_before()
    {
        Script script = New().Bytes(0, Pulse(9, 1_000_000_000)).Bytes(2, Hello()).Bytes(2.5, Pulse(0, Hz / 2));

        Assert.Equal([1_000_000_000, 1_000_000_000 + (5 * Hz / 2)], script.PulseTicks);
        Assert.Equal((1, 0), (script.Decoder.Counts.Restarts, script.Decoder.Counts.LostOnLine));
    }

    [Fact]
    public void A_name_that_comes_late_and_tells_another_rate_leaves_the_ticks_going_on()
    {
        Script script = New(tickHz: 1_000_000).Bytes(0, Pulse(0, 100)).Bytes(3, Pulse(1, 6_000_100)).Bytes(4, Hello()).Bytes(5, Pulse(2, 10_000_100));

        Assert.Equal([100, 6_000_100, 6_000_100 + (2 * Hz)], script.PulseTicks);
        Assert.Equal(0, script.Decoder.Counts.Restarts);
    }

    [Fact]
    public void A_name_that_comes_late_and_tells_nothing_else_changes_no_ticks()
    {
        Script script = New().Bytes(0, Pulse(0, 100)).Bytes(3, Pulse(1, 6_000_100)).Bytes(4, Hello(bits: 64)).Bytes(5, Pulse(2, 10_000_700));

        Assert.Equal([100, 6_000_100, 10_000_700], script.PulseTicks);
    }

    [Fact]
    public void A_counter_that_began_again_is_a_restart_even_where_greeting_and_status_were_lost()
    {
        Script script = New().Bytes(0, Hello() + Pulse(7, 1_000_000_000)).Bytes(4, Pulse(0, Hz)).Bytes(5, Pulse(1, 2 * Hz));

        Assert.Equal(1, script.Decoder.Counts.Restarts);
        Assert.Equal([1_000_000_000, 1_000_000_000 + (4 * Hz), 1_000_000_000 + (5 * Hz)], script.PulseTicks);
        Assert.Equal(0, script.Decoder.Counts.LostOnLine);
    }

    [Fact]
    public void Lines_that_the_host_reads_late_are_no_restart()
    {
        Script script = New().Bytes(0, Hello() + Pulse(0, 1_000_000_000)).Bytes(30, Pulse(1, 1_000_000_000 + Hz)).Bytes(30.1, Pulse(2, 1_000_000_000 + (30 * Hz)));

        Assert.Equal(0, script.Decoder.Counts.Restarts);
        Assert.Equal([1_000_000_000, 1_000_000_000 + Hz, 1_000_000_000 + (30 * Hz)], script.PulseTicks);
    }

    [Fact]
    public void Totals_of_pulses_that_wrap_are_no_restart()
    {
        Script script = New().Bytes(0, Hello() + Status(0, 0xFFFFFFFF)).Bytes(1, Status(Hz, 5));

        Assert.Equal(0, script.Decoder.Counts.Restarts);
    }

    [Fact]
    public void Dropped_pulses_are_counted_from_the_first_status_on_over_the_wrap_and_from_nothing_after_a_restart()
    {
        Script script = New().Bytes(0, Hello(boot: 1) + Status(0, 100, dropped: 0xFFF0)).Bytes(1, Status(Hz, 200, dropped: 0xFFFE));
        Assert.Equal(14, script.Decoder.Counts.DroppedByBoard);

        script.Bytes(2, Status(2 * Hz, 300, dropped: 3));
        Assert.Equal(19, script.Decoder.Counts.DroppedByBoard);

        script.Bytes(3, Hello(boot: 2) + Status(5, 10, dropped: 4));
        Assert.Equal(23, script.Decoder.Counts.DroppedByBoard);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(127)]
    [InlineData(128)]
    [InlineData(255)]
    public void A_gap_of_up_to_255_lines_is_counted_exactly(int lost)
    {
        Script script = New().Bytes(0, Hello() + Pulse(250, 1000) + Pulse(251 + lost, 900_000) + Pulse(252 + lost, 910_000));

        Assert.Equal(lost, script.Decoder.Counts.LostOnLine);
    }

    [Fact]
    public void A_line_that_comes_twice_or_late_is_no_loss()
    {
        Script script = New().Bytes(0, Hello() + Pulse(5, 1000) + Pulse(6, 2000) + Pulse(6, 2000) + Pulse(5, 1000) + Pulse(7, 3000));

        Assert.Equal(0, script.Decoder.Counts.LostOnLine);
        Assert.Equal(5, script.Decoder.Counts.Received);
    }

    [Fact]
    public void An_answer_is_paired_with_its_question_by_number()
    {
        Script script = New().Bytes(0, Hello()).Asked(1, "T7F\n").Asked(1.001, "Tab\n").Bytes(1.002, Time(0xAB, 600)).Bytes(1.003, Time(0x7F, 500));

        SourceEvent[] answers = [.. script.Events.Where(said => said.Kind == SourceEventKind.TimeAnswer)];
        Assert.Equal([(600L, Script.Ns(1.001), Script.Ns(1.002)), (500L, Script.Ns(1), Script.Ns(1.003))],
            answers.Select(answer => (answer.Pulse.Ticks, answer.AskedNs, answer.HostNs)));
    }

    [Fact]
    public void An_answer_that_nobody_asked_for_still_tells_the_counter()
    {
        Script script = New().Bytes(0, Hello()).Asked(1, "T01\n").Bytes(1, Time(1, 400) + Time(1, 500));

        Assert.Equal([SourceEventKind.TimeAnswer, SourceEventKind.Status], script.Events.Skip(1).Select(said => said.Kind));
    }

    [Fact]
    public void A_line_of_64_bytes_is_read_and_one_more_is_too_many_even_without_an_end()
    {
        Script script = New().Bytes(0, new string('x', 64) + "\r\n");
        Assert.Equal(1, script.Decoder.Counts.BadLines);

        script.Bytes(0, new string('x', 1_000_000)).Bytes(0, "y" + Hello()).Bytes(0, Pulse(3, 9));

        Assert.Equal(2, script.Decoder.Counts.BadLines);
        script.Bytes(4, Status(10, 1));
        Assert.Equal([9], script.PulseTicks);
    }

    [Fact]
    public void Pulses_cost_no_memory()
    {
        Script script = New().Bytes(0, Hello());
        byte[] Lines(int from) => System.Text.Encoding.ASCII.GetBytes(string.Concat(Enumerable.Range(from, 1000).Select(at => Pulse(at, at * 1000L, 50))));
        byte[] second = Lines(1000);
        var events = new List<SourceEvent>(2000);
        script.Decoder.Decode(new SourceBlock(SourceBlockKind.Bytes, Script.Ns(1), Lines(0)), events);
        events.Clear();

        long before = GC.GetAllocatedBytesForCurrentThread();
        script.Decoder.Decode(new SourceBlock(SourceBlockKind.Bytes, Script.Ns(1), second), events);

        Assert.Equal(0, GC.GetAllocatedBytesForCurrentThread() - before);
        Assert.Equal(1000, events.Count);
    }

    private static Script New(double tickHz = Hz) => new(SourceFormats.CreateDecoder("pulse-lines", tickHz));
}
