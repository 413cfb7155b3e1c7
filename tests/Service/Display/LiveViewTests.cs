using Acquire.Acquisition;
using Acquire.Motion;
using Acquire.Service.Capture;
using Acquire.Service.Display;
using Spectre.Console.Testing;

namespace Acquire.Service.Tests.Display;

public sealed class LiveViewTests
{
    private static readonly LiveState Spinning = new()
    {
        Phase = RunPhase.Spinning,
        Rpm = 1873.41,
        URpm = 0.23,
        DecelRpmPerS = 0.7806,
        SinceReleaseS = 3725.9,
        PeakRpm = 3012.2,
        Turns = 98_213.6,
        Marks = 98_211,
        Missed = 3,
        Extra = 12,
        SignalQuality = 0.99897,
        Counts = new SourceCounts(98_223, 2, 1, 4, 0, 0),
        LinkUp = true,
        Source = "/dev/ttyACM0 at 115200 baud, [board] 1",
        LastHeardNs = 1,
        FinishedRuns = 2,
        LastRun = "/home/bench/runs/20270314T092653Z-oak-rim",
        JournalBytes = 1_234_567,
    };

    [Fact]
    public void Lamp_light_is_named_with_its_frequency_while_nothing_spins() =>
        Assert.Contains("  signal    lamp light, 100.1 Hz", Render(new LiveState { LinkUp = true, LampHz = 100.12 }, 60));

    [Fact]
    public void The_row_of_a_plan_stands_whole_below_the_phase_however_long_it_is()
    {
        string[] lines = Render(new LiveState { LinkUp = true, Plan = "next row 3 of 12 (block 1): cover=ring [new], clearance_mm=6, base=glass" }, 60);
        Assert.Equal(["  waiting for a launch", "  plan  next row 3 of 12 (block 1): cover=ring [new],", "  clearance_mm=6, base=glass"], lines[1..4]);
    }

    [Fact]
    public void At_60_columns_every_fact_has_a_line_of_its_own_and_none_is_broken()
    {
        string[] lines = Render(Spinning, 60);
        Assert.All(lines, l => Assert.True(l.Length <= 60, l));
        Assert.Equal(
            [
                "",
                "  spinning   1:02:05 since release",
                "",
                "  ▄█  ▄▀▀▄ ▀▀▀█ ▀▀▀▄   █  █  ± 0.23",
                "   █  ▄▀▀▄   █   ▀▀▄   █▄▄█  slowing 0.781 rpm/s",
                "  ▄█▄ ▀▄▄▀  █   ▄▄▄▀ ▄    █  rpm",
                "",
                "  peak      3012 rpm",
                "  turns     98,213",
                "  marks     98,211 seen, 3 missed",
                "  pulses    98,223, of these 12 extra",
                "  signal    good, 99.8 % of marks as predicted",
                "  link      up",
                "  source    /dev/ttyACM0 at 115200 baud, [board] 1",
                "  losses    1 lost, 2 bad lines, 4 dropped by board",
                "  library   /home/bench/runs, journal 1.2 MB",
                "  last run  20270314T092653Z-oak-rim (2)",
            ],
            lines);
    }

    [Fact]
    public void At_120_columns_the_run_stands_beside_its_link()
    {
        string[] lines = Render(Spinning, 120);
        Assert.All(lines, l => Assert.True(l.Length <= 120, l));
        Assert.Equal(12, lines.Length);
        string peak = lines.Single(l => l.Contains("peak", StringComparison.Ordinal));
        Assert.StartsWith("  peak      3012 rpm", peak);
        Assert.EndsWith("  link      up", peak);
    }

    [Theory]
    [InlineData(20)]
    [InlineData(35)]
    [InlineData(60)]
    [InlineData(99)]
    [InlineData(100)]
    [InlineData(200)]
    public void No_line_is_wider_than_the_terminal(int columns)
    {
        LiveState state = Spinning with { Trouble = "Marks ceased. See whether the sensor still points at the mark.", Source = new string('x', 300) };
        Assert.All(Render(state, columns), l => Assert.True(l.Length <= columns, $"{l.Length}: {l}"));
    }

    [Fact]
    public void Every_phase_can_be_drawn_from_an_empty_state()
    {
        foreach (RunPhase phase in Enum.GetValues<RunPhase>())
        {
            LiveState state = new() { Phase = phase, LinkUp = true };
            string text = string.Join('\n', Render(state, 80));
            Assert.Contains(LiveWords.Phase(state), text);
            Assert.DoesNotContain("NaN", text);
        }
    }

    [Fact]
    public void While_nothing_spins_it_tells_only_that_pulses_arrive()
    {
        string text = string.Join('\n', Render(Spinning with { Phase = RunPhase.Waiting, Rpm = double.NaN, PeakRpm = double.NaN }, 80));
        Assert.Contains("marks     –", text);
        Assert.Contains("pulses    98,223 since the capture began", text);
    }

    [Fact]
    public void Trouble_is_said_in_words()
    {
        string text = string.Join('\n', Render(new() { Trouble = "Port /dev/ttyACM0 is not there." }, 80));
        Assert.Contains("no link", text);
        Assert.Contains("trouble  Port /dev/ttyACM0 is not there.", text);
    }

    [Fact]
    public void A_source_that_fell_silent_is_said_to_be() =>
        Assert.Contains("link      up, silent for 0:01:05", string.Join('\n', Render(Spinning, 80, heardAgoS: 65)));

    [Fact]
    public void What_a_source_calls_itself_cannot_move_the_cursor() =>
        Assert.Contains("source    a [2J b", string.Join('\n', Render(Spinning with { Source = "a\u001b[2J\nb" }, 80)));

    [Fact]
    public void Without_half_blocks_the_speed_stands_in_plain_digits() =>
        Assert.Contains("  1873.4 rpm  ± 0.23  slowing 0.781 rpm/s", Render(Spinning, 60, unicode: false));

    [Theory]
    [InlineData(1, "good, 100 % of marks as predicted")]
    [InlineData(0.99999, "good, 99.9 % of marks as predicted")]
    [InlineData(0.96, "fair, 96 % of marks as predicted")]
    [InlineData(0.85, "poor, 85 % of marks as predicted")]
    [InlineData(0.1, "bad, 10 % of marks as predicted")]
    [InlineData(double.NaN, "–")]
    public void Signal_quality_is_a_word_and_a_share(double share, string text) => Assert.Equal(text, LiveWords.Quality(share));

    private static string[] Render(LiveState state, int columns, bool unicode = true, double heardAgoS = 0.1)
    {
        using var console = new TestConsole();
        console.Profile.Width = columns;
        console.Write(new LiveView("/home/bench/runs").Render(state, columns, unicode, heardAgoS));
        return [.. console.Output.TrimEnd('\n').Split('\n').Select(l => l.TrimEnd())];
    }
}
