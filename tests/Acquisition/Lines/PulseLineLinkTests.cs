using Acquire.Acquisition.Lines;
using Xunit;
using static Acquire.Acquisition.Tests.Lines.BoardWriter;

namespace Acquire.Acquisition.Tests.Lines;

/// <summary>Pulse lines over a link that goes and comes, from a board that goes on or begins anew meanwhile.</summary>
public sealed class PulseLineLinkTests
{
    private const long Hz = 2_000_000;

    [Fact]
    public void Pulses_sent_while_the_link_was_away_by_a_board_that_went_on_are_lost_on_the_line()
    {
        Script script = New().Bytes(0, Hello() + Pulse(5, 1000)).LinkLost(1).LinkBack(2).Bytes(2, Hello() + Pulse(90, 2 * Hz) + Pulse(91, 2 * Hz + 5));

        Assert.Equal(84, script.Decoder.Counts.LostOnLine);
        Assert.Equal(
            [SourceEventKind.BoardNamed, SourceEventKind.Pulse, SourceEventKind.LinkLost, SourceEventKind.LinkBack, SourceEventKind.Pulse, SourceEventKind.Pulse],
            script.Events.Select(said => said.Kind));
    }

    [Theory]
    [InlineData(84)]
    [InlineData(255)]
    [InlineData(256)]
    [InlineData(1000)]
    [InlineData(100_000)]
    public void However_many_were_sent_while_the_link_was_away_the_boards_totals_tell(int lost)
    {
        Script script = New().Bytes(0, Hello() + Pulse(5, 1000) + Status(2000, 70, dropped: 3) + Pulse(6, 3000)).LinkLost(1).LinkBack(60);

        script.Bytes(60, Hello() + Pulse(7 + lost, 60 * Hz) + Pulse(8 + lost, 60 * Hz + 5) + Status(61 * Hz, 70 + 1 + lost + 2 + 4, dropped: 7));

        Assert.Equal((lost, 4), (script.Decoder.Counts.LostOnLine, script.Decoder.Counts.DroppedByBoard));
        script.Bytes(61, Pulse(9 + lost, 62 * Hz) + Status(63 * Hz, 70 + 1 + lost + 2 + 4 + 1, dropped: 7));
        Assert.Equal(lost, script.Decoder.Counts.LostOnLine);
    }

    [Fact]
    public void What_a_board_sent_that_began_anew_while_the_link_was_away_is_not_known()
    {
        Script script = New().Bytes(0, Hello(boot: 1) + Pulse(5, 1000) + Status(2000, 6)).LinkLost(1).LinkBack(20)
            .Bytes(20, Hello(boot: 2) + Pulse(90, 2 * Hz) + Status((2 * Hz) + 5, 400));

        Assert.Equal((0, 1), (script.Decoder.Counts.LostOnLine, script.Decoder.Counts.Restarts));
    }

    [Fact]
    public void After_the_link_was_away_lines_wait_until_the_board_has_said_whether_it_began_anew()
    {
        Script script = New().Bytes(0, Hello(boot: 1) + Pulse(0, 3 * Hz)).LinkLost(1).LinkBack(2).Bytes(2.5, Pulse(3, 1 * Hz)).Bytes(3, Pulse(4, 3 * Hz / 2));
        Assert.Single(script.Pulses);

        script.Bytes(3.1, Hello(boot: 2)).Bytes(3.5, Pulse(5, 2 * Hz));

        // By the counter alone the board may have gone on, its lines being late: it went back by less than delays may be.
        Assert.Equal([3 * Hz, (11 * Hz) / 2, 6 * Hz, (13 * Hz) / 2], script.PulseTicks);
        Assert.Equal((1, 0), (script.Decoder.Counts.Restarts, script.Decoder.Counts.LostOnLine));
    }

    [Fact]
    public void Lines_of_the_boot_before_that_come_after_the_link_was_away_are_told_by_its_counter()
    {
        Script script = New().Bytes(0, Hello(boot: 1) + Pulse(0, 900 * Hz)).LinkLost(1).LinkBack(2).Bytes(2, Pulse(4, 902 * Hz)).Bytes(2.1, Hello(boot: 2)).Bytes(3, Pulse(0, Hz / 2));

        Assert.Equal([900 * Hz, 902 * Hz, 903 * Hz], script.PulseTicks);
        Assert.Equal((1, 3), (script.Decoder.Counts.Restarts, script.Decoder.Counts.LostOnLine));
    }

    [Fact]
    public void Lines_that_wait_are_told_when_the_link_goes_again_and_at_the_end()
    {
        Script script = New().Bytes(0, Hello() + Pulse(5, 1000)).LinkLost(1).LinkBack(2).Bytes(2, Pulse(90, 2 * Hz)).LinkLost(2.5);
        Assert.Equal([1000, 2 * Hz], script.PulseTicks);

        script.LinkBack(3).Bytes(3, Pulse(99, 3 * Hz));
        Assert.Equal([1000, 2 * Hz], script.PulseTicks);
        script.Decoder.Finish(script.Events);
        Assert.Equal([1000, 2 * Hz, 3 * Hz], script.PulseTicks);
    }

    [Fact]
    public void A_board_that_does_not_name_itself_again_is_told_after_three_seconds_and_its_numbers_count_anew()
    {
        Script script = New().Bytes(0, Hello() + Pulse(5, 1000)).LinkLost(1).LinkBack(2).Bytes(2, Pulse(90, 2 * Hz)).Bytes(5, Pulse(91, 5 * Hz));

        Assert.Equal([1000, 2 * Hz, 5 * Hz], script.PulseTicks);
        Assert.Equal((0, 0), (script.Decoder.Counts.Restarts, script.Decoder.Counts.LostOnLine));
    }

    [Fact]
    public void A_counter_that_begins_again_twice_within_seconds_is_two_restarts_without_any_greeting()
    {
        Script script = New().Bytes(0, Hello() + Pulse(0, 500 * Hz)).Bytes(4, Pulse(0, Hz)).Bytes(5, Pulse(1, 2 * Hz)).Bytes(6, Pulse(0, Hz / 2)).Bytes(7, Pulse(1, 3 * Hz / 2));

        Assert.Equal([500 * Hz, 504 * Hz, 505 * Hz, 506 * Hz, 507 * Hz], script.PulseTicks);
        Assert.Equal(2, script.Decoder.Counts.Restarts);
    }

    [Theory]
    [InlineData(0.2)]
    [InlineData(6)]
    [InlineData(19)]
    [InlineData(40)]
    public void A_line_that_is_read_late_just_after_the_counter_wrapped_is_no_restart(double lateS)
    {
        const long Wrap = 1L << 32;
        Script script = New().Bytes(0, Hello() + Status(Wrap - Hz, 1) + Pulse(0, Wrap - (Hz / 2))).Bytes(1 + lateS, Pulse(1, Wrap + (Hz / 2))).Bytes(1.1 + lateS, Status(Wrap + Hz, 2));

        long onTime = Wrap + (long)((0.7 + lateS) * Hz);
        script.Bytes(1.2 + lateS, Pulse(2, onTime) + Pulse(3, onTime + 9));

        Assert.Equal([Wrap - (Hz / 2), Wrap + (Hz / 2), onTime, onTime + 9], script.PulseTicks);
        Assert.Equal(0, script.Decoder.Counts.Restarts);
    }

    [Fact]
    public void A_line_cut_off_by_an_unplug_is_counted_once_and_not_joined_with_what_follows()
    {
        Script script = New().Bytes(0, Hello() + "P00,000").LinkLost(1).LinkBack(2).Bytes(2, "00000*4C99\n" + Pulse(1, 500) + Hello());

        Assert.Equal(2, script.Decoder.Counts.BadLines);
        Assert.Equal([500], script.PulseTicks);
    }

    [Fact]
    public void An_unplug_between_lines_costs_none()
    {
        Script script = New().Bytes(0, Hello()).LinkLost(1).LinkBack(2).Bytes(2, Pulse(1, 500) + Hello());

        Assert.Equal(0, script.Decoder.Counts.BadLines);
    }

    private static Script New() => new(SourceFormats.CreateDecoder("pulse-lines", Hz));
}
